"""How the server does: its health, what is measured of it, what it writes down of its own work."""
