"""An invented shop's past: rebuilds drawn by chance, seeded, with patterns in them that are known."""
