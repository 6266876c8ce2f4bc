"""Figures with their uncertainty: what a few measured or counted cases allow to say, and what they do not."""
