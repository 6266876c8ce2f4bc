"""One module a command, each with a click command named ``command``."""
