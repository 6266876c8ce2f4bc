"""What tells patches apart: a blister is a dome, a deposit has a colour of its own."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.ground import Ground
from capture.face.parts import Part

#: How far round a patch the face is looked at, pixels.
_AROUND = 9


@dataclass(frozen=True, slots=True)
class Patch:
    """What tells the kinds of patches apart."""

    colour: float
    """Shift of the ratios of the colours against the face beside it, logarithm."""
    slope: float
    """Share of the variation of brightness inside that a plane explains, 0 to 1."""


def patch_of(part: Part, ground: Ground) -> Patch:
    """Look at a part as a patch."""
    strip = ground.lit.strip
    face = strip.face_rows
    top, bottom = max(0, int(part.rows.min()) - _AROUND), int(part.rows.max()) + _AROUND + 1
    left, right = int(part.columns.min()) - _AROUND, int(part.columns.max()) + _AROUND + 1
    take = np.arange(left, right) % strip.columns
    cut = strip.picture[face][top:bottom][:, take].astype(np.float32) + 2.0
    inside = np.zeros(cut.shape[:2], np.uint8)
    inside[part.rows - top, part.columns - left] = 1
    near = cv2.dilate(inside, np.ones((5, 5), np.uint8))
    wide = cv2.dilate(inside, np.ones((2 * _AROUND - 1, 2 * _AROUND - 1), np.uint8))
    beside = (wide > 0) & (near == 0)
    stray = ground.stray[top:bottom][:, take]
    return Patch(colour=_colour(cut, inside > 0, beside), slope=_slope(stray, inside > 0))


def _colour(cut: NDArray[np.float32], inside: NDArray[np.bool_], beside: NDArray[np.bool_]) -> float:
    if not beside.any():
        return 0.0
    own, other = np.log(cut[inside].mean(axis=0)), np.log(np.median(cut[beside], axis=0))
    shift = own - other
    return float(abs(shift[0] - shift[1]) + abs(shift[2] - shift[1]))


def _slope(stray: NDArray[np.float32], inside: NDArray[np.bool_]) -> float:
    rows, columns = np.nonzero(inside)
    if len(rows) < 6:
        return 0.0
    terms = np.column_stack([np.ones(len(rows)), rows - rows.mean(), columns - columns.mean()])
    values = stray[rows, columns].astype(np.float64)
    fit, *_ = np.linalg.lstsq(terms, values, rcond=None)
    return float(np.mean((terms[:, 1:] @ fit[1:]) ** 2)) / max(float(np.mean(values**2)), 1e-12)
