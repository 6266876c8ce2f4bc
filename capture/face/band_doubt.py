"""How sure a form is: the fit repeated with a sector of the face left out, for each sector in turn.

What a sector holds is foretold by the others, so that noise of any kind (grain, JPEG, texture, dirt) counts
as much as it does harm. The repeated fits are one step of least squares each. Source: the jackknife, Efron
and Tibshirani, An Introduction to the Bootstrap (1993), ch. 11 (from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from capture.face.band_fit import BESIDES, BandFit
from capture.face.band_light import BandLight
from capture.face.face_form import FaceForm, Values

_SECTORS = 16


@dataclass(frozen=True, slots=True)
class FormDoubt:
    """What leaving out sectors tells."""

    foretold: float
    """Share of the variation in the sectors left out that the others foretell; at most 1, may be below 0."""
    bands: float
    """Standard uncertainty of the departure from flat, in bands."""


def doubt_of(light: BandLight, fit: BandFit) -> FormDoubt:
    """Leave out each sector in turn."""
    sector = np.floor(np.arctan2(light.y, light.x) / (2 * np.pi) * _SECTORS).astype(int) % _SECTORS
    towards = fit.slopes * fit.counted[:, None]
    parts = [sector == each for each in range(_SECTORS)]
    squares = [towards[part].T @ fit.slopes[part] for part in parts]
    pulls = [towards[part].T @ fit.left[part] for part in parts]
    square, pull = np.sum(squares, axis=0), np.sum(pulls, axis=0)
    square = square + 1e-9 * np.diag(np.diag(square) + 1e-9)
    missed = 0.0
    departures = []
    for part, own, own_pull in zip(parts, squares, pulls, strict=True):
        change = np.linalg.lstsq(square - own, pull - own_pull, rcond=None)[0]
        missed += float(np.sum((fit.left[part] - fit.slopes[part] @ change) ** 2))
        departures.append(_changed(fit.form, change).out_of_flat)
    # Of n values the jackknife takes (n - 1) / n times the sum of squares: (n - 1) times their variance.
    spread = math.sqrt(_SECTORS - 1) * float(np.std(departures))
    return FormDoubt(1 - missed / fit.plain, spread)


def _changed(form: FaceForm, change: Values) -> FaceForm:
    weights = form.weights.copy()
    freed = change.size - BESIDES
    weights[:freed] += change[BESIDES:]
    return FaceForm(weights, form.bore)
