"""Backups of a shop, made while its server runs: taken, checked, brought back."""
