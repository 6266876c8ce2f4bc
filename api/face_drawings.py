"""Where the drawings of a job's seal faces lie: the looking writes them there, the report shows them."""

from __future__ import annotations

FACES = "faces"


def annotated_name(picture: str) -> str:
    """Return where the annotated picture of a face lies, relative to the record.

    Args:
        picture: the photo's name in the record.
    """
    return f"{FACES}/{picture.rpartition('/')[2]}.annotated.jpg"


def strip_name(picture: str) -> str:
    """Return where the unrolled face of a picture lies, relative to the record."""
    return f"{FACES}/{picture.rpartition('/')[2]}.strip.jpg"
