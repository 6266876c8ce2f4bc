"""Recordings from before: found, read by workers, filed into the archive."""
