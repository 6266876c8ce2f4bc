"""The sharpest picture of a burst: hands shake and a focus hunts, but seldom in all of them."""

from __future__ import annotations

from collections.abc import Iterable

from capture.picture_quality import Picture, sharpness
from shared.errors import PictureNotFound


def sharpest(pictures: Iterable[Picture]) -> Picture:
    """Return the sharpest picture of a burst, the earlier one of two alike. Two at most are held at once.

    Args:
        pictures: of one scene, each shape = (height, width, 3), uint8, blue, green, red.

    Raises:
        PictureNotFound: there is none.
    """
    best: tuple[float, Picture] | None = None
    for picture in pictures:
        measured = sharpness(picture)
        if best is None or measured > best[0]:
            best = measured, picture
    if best is None:
        raise PictureNotFound("there is no picture in the burst", expected="at least one")
    return best[1]
