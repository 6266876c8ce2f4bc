"""Patches told apart: a pit is dark and hard-edged, a blister a dome, a deposit has a colour of its own."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.chips import too_faint
from capture.face.ground import Ground
from capture.face.parts import Part
from shared.photo import DefectKind

#: How far round a patch the face is looked at, pixels.
_AROUND = 9
#: Colour shift against the face beside it (logarithm of blue and red by green) of a deposit.
_OWN_COLOUR = 0.10
#: A dome's slope of brightness from side to side, as a share of the patch's whole variation.
_DOME = 0.45
#: A patch inside the face passes the threshold of chance by so much: grain makes patches sooner than lines.
_SURE = 1.5
#: Shortest deposit, pixels: less is a stray bright pixel. Crookedest: more is grain strung together.
_SHORTEST_PX, _CROOKED = 8.0, 0.13
#: Least contrast of a patch without a colour of its own: less is a film of oil or what the face mirrors.
_LEAST_CONTRAST = 0.08
#: A pit's least darkness, logarithm of brightness.
_PIT_DARK = -0.25
#: From this darkness on a round patch is a hole whatever its colour: no deposit of the development pictures
#: is as dark.
_BLACK = -1.2
#: Most of a pit's length by its width; largest pit, in widths of the face.
_PIT_SLENDER = 2.5
_PIT_LARGEST = 0.55


@dataclass(frozen=True, slots=True)
class Patch:
    """What tells the kinds of patches apart."""

    colour: float
    """Shift of the ratios of the colours against the face beside it, logarithm."""
    slope: float
    """Share of the variation of brightness inside that a plane explains, 0 to 1."""
    swing: float
    """Difference of brightness from side to side along that plane, logarithm."""
    size: float
    """Root of its area in widths of the face."""


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
    slope, swing = _plane(stray, inside > 0)
    pixel_width = 1.0 / max(len(ground.radii), 1)
    return Patch(
        colour=_colour(cut, inside > 0, beside), slope=slope, swing=swing,
        size=float(np.sqrt(len(part.rows)) * pixel_width),
    )  # fmt: skip


def _colour(cut: NDArray[np.float32], inside: NDArray[np.bool_], beside: NDArray[np.bool_]) -> float:
    if not beside.any():
        return 0.0
    own, other = np.log(cut[inside].mean(axis=0)), np.log(np.median(cut[beside], axis=0))
    shift = own - other
    return float(abs(shift[0] - shift[1]) + abs(shift[2] - shift[1]))


def _plane(stray: NDArray[np.float32], inside: NDArray[np.bool_]) -> tuple[float, float]:
    rows, columns = np.nonzero(inside)
    if len(rows) < 6:
        return 0.0, 0.0
    terms = np.column_stack([np.ones(len(rows)), rows - rows.mean(), columns - columns.mean()])
    values = stray[rows, columns].astype(np.float64)
    fit, *_ = np.linalg.lstsq(terms, values, rcond=None)
    whole = float(np.mean(values**2))
    explained = terms[:, 1:] @ fit[1:]
    reach = float(explained.max() - explained.min())
    return float(np.mean(explained**2)) / max(whole, 1e-12), reach


def _is_round(part: Part, ground: Ground) -> bool:
    return part.length < _PIT_LARGEST * (1 - ground.bore) and part.slender < _PIT_SLENDER


def patch_kind(part: Part, ground: Ground, edge: bool) -> DefectKind | None:
    """Return what a patch is: pit, blister, deposit, or at an edge a chip; None for a mere shade."""
    patch = patch_of(part, ground)
    if edge:
        if patch.colour > _OWN_COLOUR:
            return "deposit"
        return None if too_faint(part) else "chip"
    if part.strength < _SURE:
        return None
    # The colour of what is black is mostly noise.
    if part.contrast < _BLACK and _is_round(part, ground):
        return "pit"
    if patch.slope > _DOME:
        return "blister"
    if patch.colour > _OWN_COLOUR:
        return "deposit"
    if part.contrast < _PIT_DARK and part.light < 0.3 and _is_round(part, ground):
        return "pit"
    small = part.length < _SHORTEST_PX * ground.pixel or part.bend > _CROOKED
    return None if small or abs(part.contrast) < _LEAST_CONTRAST else "deposit"
