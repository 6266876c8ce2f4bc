"""A fitted form held against the bands of each part of the face by itself.

In a cell the bands may be brighter or fainter and lie a little aside of the form's. Where a form is wrong
they lie aside everywhere, however little noise there is; where light or dirt hides the face they are faint.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.face.band_fit import BandFit
from capture.face.band_light import BandLight
from capture.face.face_form import Values

_SECTORS, _RINGS = 24, 2
#: A cell of fewer places tells nothing.
_FEWEST = 8
#: How much the form is believed beforehand, in shares of a cell's places: it decides where hardly a part of a
#: band lies in a cell.
_BELIEF = 0.05
#: Bands fainter than this share of the usual are not seen.
_FAINT = 0.4


@dataclass(frozen=True, slots=True, eq=False)
class BandCells:
    """What cells of the face say of a form."""

    aside: Values
    """How far the bands lie aside of the form's in each cell, in bands, shape = (cells,)."""
    contrast: Values
    """Of the bands, as a share of the form's, shape = (cells,)."""

    @property
    def shown(self) -> float:
        """Share of the cells in which bands are seen."""
        return float(np.mean(self.contrast >= _FAINT * np.median(self.contrast)))

    @property
    def usually_aside(self) -> float:
        """Root mean square of how far they lie aside where they are seen, in bands."""
        seen = self.contrast >= _FAINT * np.median(self.contrast)
        return float(np.sqrt(np.mean(self.aside[seen] ** 2)))


def band_cells(light: BandLight, fit: BandFit) -> BandCells:
    """Look at each cell of the face by itself."""
    sector = np.floor(np.arctan2(light.y, light.x) / (2 * np.pi) * _SECTORS).astype(int) % _SECTORS
    ring = np.hypot(light.x, light.y) > (1 + light.bore) / 2
    cell = sector * _RINGS + ring
    aside, contrast = [], []
    for each in range(_SECTORS * _RINGS):
        part = cell == each
        if np.count_nonzero(part) >= _FEWEST:
            along, across = _waves(fit.wave[part], fit.quarter[part], fit.left[part])
            aside.append(np.arctan2(-across, along) / (2 * np.pi))
            contrast.append(np.hypot(along, across))
        else:
            aside.append(0.0)
            contrast.append(0.0)
    return BandCells(np.array(aside), np.array(contrast))


def _waves(wave: Values, quarter: Values, left: Values) -> tuple[float, float]:
    """Return how much of the form's wave, and of that a quarter band on, a cell holds."""
    columns = np.column_stack([wave, quarter])
    square = columns.T @ columns
    belief = _BELIEF * float(np.trace(square)) * np.eye(2)
    found = np.linalg.solve(square + belief, columns.T @ (left + wave) + belief @ (1.0, 0.0))
    return float(found[0]), float(found[1])
