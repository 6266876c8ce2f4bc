"""Seal faces in pictures: where the flat face is, what its wear track and its marks are."""

from capture.face.inspection import inspect_face

__all__ = ["inspect_face"]
