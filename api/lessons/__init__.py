"""Lessons: what goes wrong how often, whether that changes, and the clips that show it."""
