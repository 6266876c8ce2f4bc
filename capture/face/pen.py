"""The pen that faces are drawn on with: thick lines and letters, readable at two metres and by every eye.

Each line has a dark casing and each label a dark plate, so that it shows on a bright face and on a dark
bench. No meaning hangs on colour alone: edges are whole lines, the track is dashed, damage has round and
deposits square labels, and the words stand beside them. The colours are our own; any two differ in
lightness or between yellow and blue, which the colour-blind eye keeps (a test measures it in CIE L*a*b*).
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.picture_quality import Picture

Colour = tuple[int, int, int]
"""Blue, green, red, 0 to 255."""
Points = NDArray[np.float64]
"""Shape = (n, 2), pixels."""

EDGE: Colour = (245, 245, 245)
TRACK: Colour = (0, 176, 255)
DAMAGE: Colour = (20, 60, 214)
DEPOSIT: Colour = (255, 150, 90)
INK: Colour = (16, 16, 16)
PAPER: Colour = (255, 255, 255)

_FONT = cv2.FONT_HERSHEY_SIMPLEX
#: Fixed-point bits of the drawing functions, for lines between pixels.
_SHIFT = 4
_DASH_PX = 26.0
#: Diameter of a badge.
BADGE_PX = 40


@dataclass(frozen=True)
class Box:
    """A rectangle in pixels."""

    left: int
    top: int
    right: int
    bottom: int

    def meets(self, other: Box) -> bool:
        """Tell whether two boxes overlap."""
        across = self.left < other.right and other.left < self.right
        return across and self.top < other.bottom and other.top < self.bottom


def line(
    picture: Picture,
    points: Points,
    colour: Colour,
    *,
    width: int = 4,
    closed: bool = False,
    dashed: bool = False,
) -> None:
    """Draw a line through points onto a picture, dark casing first."""
    if closed:
        points = np.vstack([points, points[:1]])
    pieces = _dashes(points) if dashed else [points]
    for shade, thick in ((INK, width + 4), (colour, width)):
        for piece in pieces:
            fixed = np.rint(piece * (1 << _SHIFT)).astype(np.int32).reshape(-1, 1, 2)
            cv2.polylines(picture, [fixed], False, shade, thick, cv2.LINE_AA, _SHIFT)


def text_size(text: str, size: float) -> tuple[int, int]:
    """Return width and height of a text in pixels; size 1 has letters of about 22 pixels."""
    (width, height), _ = cv2.getTextSize(text, _FONT, size, _thick(size))
    return width, height


def write(picture: Picture, text: str, at: tuple[int, int], size: float, colour: Colour = INK) -> None:
    """Write one line of text, its lower left corner at ``at``."""
    cv2.putText(picture, text, at, _FONT, size, colour, _thick(size), cv2.LINE_AA)


def plate(picture: Picture, box: Box, colour: Colour) -> None:
    """Draw a dark plate with a coloured rim, for light letters."""
    cv2.rectangle(picture, (box.left, box.top), (box.right, box.bottom), INK, -1)
    cv2.rectangle(picture, (box.left, box.top), (box.right, box.bottom), colour, 2)


def badge(picture: Picture, number: int, centre: tuple[int, int], colour: Colour, *, square: bool) -> None:
    """Draw a number in a disc, or in a square."""
    x, y = centre
    radius = BADGE_PX // 2
    if square:
        cv2.rectangle(picture, (x - radius, y - radius), (x + radius, y + radius), INK, -1)
        inner = radius - 3
        cv2.rectangle(picture, (x - inner, y - inner), (x + inner, y + inner), colour, -1)
    else:
        cv2.circle(picture, centre, radius + 1, INK, -1, cv2.LINE_AA)
        cv2.circle(picture, centre, radius - 2, colour, -1, cv2.LINE_AA)
    size = 0.8 if number < 10 else 0.62
    width, height = text_size(str(number), size)
    write(picture, str(number), (x - width // 2, y + height // 2), size, PAPER)


def _thick(size: float) -> int:
    return max(1, round(2.4 * size))


def _dashes(points: Points) -> list[Points]:
    """Cut a line into dashes of equal length."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    if along[-1] <= _DASH_PX:
        return [points]
    count = 2 * max(2, round(along[-1] / _DASH_PX / 2))
    pieces: list[Points] = []
    for number in range(0, count, 2):
        at = np.linspace(number, number + 1, 6) * along[-1] / count
        x, y = (np.interp(at, along, points[:, axis]) for axis in (0, 1))
        pieces.append(np.column_stack([x, y]))
    return pieces
