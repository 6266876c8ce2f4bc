"""How far a face is turned between two pictures, and whether it is the same face at all.

The unrolled faces are laid over one another at every turn (circular cross-correlation by Fourier transform).
Every sector of the face votes by itself, no more loudly than the others, so that one bright scratch that
happens to lie on another's place cannot decide; a vote is weighed by how that sector agrees at all other
turns. Rings about the centre, which agree at every turn, are taken out before. Source: correlation theorem,
Bracewell, The Fourier Transform and Its Applications, ch. 6 (from memory); the votes are ours.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.lighting import LitStrip

Values = NDArray[np.float64]

#: What both faces are brought to: columns round, rows across the flat face.
COLUMNS, ROWS = 1440, 32
#: Left out at either edge, in widths of the face: chamfer and edge look different at every tilt.
_EDGE = 0.08
#: What is kept of the face's look: coarser than grain, finer than light; degrees (standard deviations).
_FINE_DEG, _COARSE_DEG = 0.4, 3.0
#: A place that stands out by more than so many spreads counts as much as one that stands out so far.
_MOST = 3.0
_SECTORS = 12
#: The loudest vote of a sector, in spreads.
_LOUDEST = 5.0
#: So near to another turn they are the same, degrees.
_SAME_DEG = 3.0


@dataclass(frozen=True, slots=True)
class FaceTurn:
    """How the second picture's face is turned against the first's."""

    degrees: float
    """Add it to an angle in the first picture for the angle in the second; 0 to 360."""
    clearness: float
    """How far the best turn stands out of all others, in spreads of theirs."""
    second: float
    """The same of the best turn that is another one."""


def look_of(lit: LitStrip) -> Values:
    """Return the face's own look: shape = (32, 1440), in spreads; 0 where it is hidden."""
    face = lit.strip.face_rows
    trim = round(_EDGE * (face.stop - face.start))
    rows = slice(face.start + trim, face.stop - trim)
    size = (COLUMNS, ROWS)
    visible = np.where(lit.hidden[rows], np.float32(0), lit.flat[rows])
    flat = np.asarray(cv2.resize(visible, size, interpolation=cv2.INTER_AREA), np.float64)
    seen = cv2.resize((~lit.hidden[rows]).astype(np.float32), size, interpolation=cv2.INTER_AREA) > 0.99
    level = np.array(
        [np.median(row[mask]) if mask.any() else 0.0 for row, mask in zip(flat, seen, strict=True)]
    )
    flat = np.asarray(np.where(seen, flat - level[:, None], 0.0), np.float64)
    band = _smoothed(flat, _FINE_DEG) - _smoothed(flat, _COARSE_DEG)
    spread = 1.4826 * float(np.median(np.abs(band[seen]))) + 1e-6 if seen.any() else 1.0
    return np.where(seen, np.clip(band / spread, -_MOST, _MOST), 0.0)


def _smoothed(flat: Values, degrees: float) -> Values:
    pad = round(6 * _COARSE_DEG * COLUMNS / 360)
    wide = np.hstack([flat[:, -pad:], flat, flat[:, :pad]])
    soft = cv2.GaussianBlur(wide, (0, 0), sigmaX=degrees * COLUMNS / 360, sigmaY=0.5)
    return np.asarray(soft[:, pad:-pad], np.float64)


def turn_between(first: Values, second: Values) -> FaceTurn:
    """Return the turn at which two looks agree best.

    Args:
        first: look of the face in the first picture, shape = (32, 1440).
        second: in the second.
    """
    votes = np.clip(_votes(first, second), -_LOUDEST, _LOUDEST).sum(axis=0)
    standing = _in_spreads(votes)
    best = int(np.argmax(standing))
    apart = np.abs((np.arange(COLUMNS) - best + COLUMNS // 2) % COLUMNS - COLUMNS // 2)
    others = standing[apart > _SAME_DEG * COLUMNS / 360]
    return FaceTurn(best * 360 / COLUMNS, float(standing[best]), float(others.max()))


def _votes(first: Values, second: Values) -> Values:
    """Return how well each sector of the first agrees with the second at each turn, shape = (12, 1440)."""
    spectrum = np.fft.rfft(second, axis=1)
    votes = np.zeros((_SECTORS, COLUMNS))
    for sector, columns in enumerate(np.array_split(np.arange(COLUMNS), _SECTORS)):
        part = np.zeros_like(first)
        part[:, columns] = first[:, columns]
        products = np.conj(np.fft.rfft(part, axis=1)) * spectrum
        votes[sector] = _in_spreads(np.fft.irfft(products, n=COLUMNS, axis=1).sum(axis=0))
    return votes


def _in_spreads(values: Values) -> Values:
    middle = np.median(values)
    spread = 1.4826 * float(np.median(np.abs(values - middle)))
    return np.asarray((values - middle) / spread if spread > 0 else np.zeros_like(values), np.float64)


def aligned(second: Values, turn: FaceTurn) -> Values:
    """Return the second look turned back to lie on the first's."""
    return np.roll(second, -round(turn.degrees * COLUMNS / 360), axis=1)
