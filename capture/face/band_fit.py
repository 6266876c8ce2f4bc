"""The form whose bands are those seen: least squares on brightness, lighting fitted along.

brightness = lighting(x, y) + contrast(x, y) cos(2 pi height(x, y)), the two-beam equation (Born and Wolf,
Principles of Optics, 7th ed., 7.2, from memory); lighting of second degree, contrast of first.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.face.band_light import BandLight
from capture.face.face_form import QUADRIC, FaceForm, Values, terms

#: Terms of the polynomials that lighting and contrast are.
_LIGHTING, _CONTRAST = QUADRIC, 3
#: Numbers of lighting and contrast, which are fitted besides the form.
BESIDES = _LIGHTING + _CONTRAST
#: A step that gains less than this share of what is left unexplained is the last.
_LEAST_GAIN = 1e-4
#: Damping of the steps (Levenberg and Marquardt): at first, at most, and by how much it changes.
_DAMPING, _MOST_DAMPING, _DAMPING_FACTOR = 1e-2, 1e6, 5.0
#: Places further off than so many spreads (glare, dirt, scratches) count less (Huber, 95 % as good as least
#: squares where nothing sticks out; from memory). None is left out: a wrong form would leave out what
#: refutes it.
_STICKS_OUT = 1.345


@dataclass(frozen=True, slots=True, eq=False)
class BandFit:
    """A form and how well its bands explain those seen."""

    form: FaceForm
    explained: float
    """Share of the variation that lighting alone leaves, 0 to 1."""
    left: Values
    """Brightness that is not explained, shape = (n,)."""
    counted: Values
    """How much each place counts, 0 to 1, shape = (n,)."""
    plain: float
    """Variation that lighting alone leaves; grey levels squared, summed."""
    wave: Values
    """Brightness of the form's bands alone, shape = (n,)."""
    quarter: Values
    """The same a quarter of a band on, shape = (n,)."""
    slopes: Values
    """Change of each place's brightness with each number fitted, shape = (n, 9 + freed terms)."""


def fitted(light: BandLight, weights: Values, freed: int, most_steps: int = 40) -> BandFit:
    """Fit a form to the bands, beginning near.

    Args:
        light: brightness over the face.
        weights: of the form to begin with, shape = (15,).
        freed: how many of the terms may change, from the first; the others stay.
        most_steps: of the search for the least squares.
    """
    return _Fitting(light, freed).run(weights, most_steps)


class _Fitting:
    def __init__(self, light: BandLight, freed: int) -> None:
        self.light, self.freed = light, freed
        self.terms = terms(light.x, light.y)
        self.brightness = light.brightness
        lighting = self.terms[:, :_LIGHTING]
        plain = self.brightness - lighting @ np.linalg.lstsq(lighting, self.brightness, rcond=None)[0]
        self.plain = plain**2

    def run(self, weights: Values, most_steps: int) -> BandFit:
        numbers, form = self.begun(weights)
        left, damping = self.left(numbers, form), _DAMPING
        for _ in range(most_steps):
            counted = _counted(left)
            slopes = self.slopes(numbers, form)
            towards = slopes * counted[:, None]
            square, pull = towards.T @ slopes, towards.T @ left
            before = _worth(left, counted)
            while damping < _MOST_DAMPING:
                step = np.linalg.solve(square + damping * np.diag(np.diag(square) + 1e-9), pull)
                tried, moved = numbers + step[:BESIDES], form.copy()
                moved[: self.freed] += step[BESIDES:]
                after = self.left(tried, moved)
                if _worth(after, counted) < before:
                    break
                damping *= _DAMPING_FACTOR
            else:
                break
            numbers, form, left = tried, moved, after
            damping /= _DAMPING_FACTOR
            if _worth(left, counted) > (1 - _LEAST_GAIN) * before:
                break
        return self.done(numbers, form, left)

    def begun(self, weights: Values) -> tuple[Values, Values]:
        """Return lighting and contrast that go with a form, and the form with the height that does."""
        phase = 2 * np.pi * (self.terms @ weights)
        columns = np.column_stack([self.terms[:, :_LIGHTING], np.cos(phase), np.sin(phase)])
        found = np.linalg.lstsq(columns, self.brightness, rcond=None)[0]
        numbers = np.zeros(BESIDES)
        numbers[:_LIGHTING] = found[:_LIGHTING]
        numbers[_LIGHTING] = np.hypot(found[-2], found[-1])
        begun = weights.copy()
        begun[0] += np.arctan2(-found[-1], found[-2]) / (2 * np.pi)
        return numbers, begun

    def left(self, numbers: Values, form: Values) -> Values:
        lighting = self.terms[:, :_LIGHTING] @ numbers[:_LIGHTING]
        return np.asarray(self.brightness - lighting - self.waves(numbers, form)[0], np.float64)

    def waves(self, numbers: Values, form: Values) -> tuple[Values, Values]:
        contrast = self.terms[:, :_CONTRAST] @ numbers[_LIGHTING:]
        phase = 2 * np.pi * (self.terms @ form)
        return contrast * np.cos(phase), contrast * np.sin(phase)

    def slopes(self, numbers: Values, form: Values) -> Values:
        phase = 2 * np.pi * (self.terms @ form)
        by_contrast = np.cos(phase)[:, None] * self.terms[:, :_CONTRAST]
        by_height = -2 * np.pi * self.waves(numbers, form)[1][:, None]
        return np.hstack([self.terms[:, :_LIGHTING], by_contrast, by_height * self.terms[:, : self.freed]])

    def done(self, numbers: Values, form: Values, left: Values) -> BandFit:
        plain = float(np.sum(self.plain)) + 1e-9
        return BandFit(
            FaceForm(form, self.light.bore),
            1 - float(np.sum(left**2)) / plain,
            left,
            _counted(left),
            plain,
            *self.waves(numbers, form),
            self.slopes(numbers, form),
        )


def _counted(left: Values) -> Values:
    spread = 1.4826 * float(np.median(np.abs(left))) + 1e-9
    return np.asarray(np.minimum(1.0, _STICKS_OUT * spread / (np.abs(left) + 1e-9)), np.float64)


def _worth(left: Values, counted: Values) -> float:
    return float(np.sum(counted * left**2))
