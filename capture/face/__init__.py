"""Seal faces in pictures: where the flat face is, what its wear track and its marks are."""
