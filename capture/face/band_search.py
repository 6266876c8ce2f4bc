"""Where to begin: which tilt, dish and saddle make bands like those seen.

The bands are beaten against those of a trial form. Where its dish and saddle are right, straight and even
bands are left: a single peak of the Fourier transform, whose place is the tilt. So closed bands are found
as open ones are. Source: a fringe picture demodulated by its carrier, Takeda, Ina and Kobayashi, J. Opt.
Soc. Am. 72 (1982) 156; that the carrier is curved is ours.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterator

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.band_light import BandLight
from capture.face.face_form import QUADRIC, QUARTIC, Values, terms

#: Dish and saddle are looked for up to this many bands of departure together; first up to fewer.
NEAR, REACH = 4.0, 10.0
#: Steps in bands of departure: halfway between two, the trial is off by a sixth of a band at most places.
_DISH_STEP, _SADDLE_STEP = 0.6, 0.35
#: Lobes are looked for up to this many bands from the middle, in such steps.
_MOST_LOBES, _LOBE_STEP = 1.5, 0.3
#: Trials that lobes are added to, and beginnings that are worth a fit.
_KEPT, _BEGINNINGS = 16, 8
#: Places along the diameter that will do to begin with: 48 bands across.
_PLACES = 96
#: The tilt is looked for in Fourier bins, then in quarters of one.
_QUARTERS = np.arange(-3, 4) / 4


def beginnings(light: BandLight) -> Iterator[list[Values]]:
    """Yield lists of weights of forms whose bands resemble those seen, each shape = (15,), the best first.

    Small departures come first, as most faces have them, then large ones, then lobes: whoever finds a form
    that fits need not look on.
    """
    beating = _Beating(light)
    near = beating.best(_dished_and_saddled(light.bore, 0.0, NEAR))
    yield [beating.with_tilt(each) for each in near[:_BEGINNINGS]]
    far = beating.best(_dished_and_saddled(light.bore, NEAR, REACH))
    yield [beating.with_tilt(each) for each in far[:_BEGINNINGS]]
    lobed = beating.best(each + lobes for each in (*near, *far) for lobes in _lobes())
    yield [beating.with_tilt(each) for each in lobed[:_BEGINNINGS]]


class _Beating:
    """Bands beaten against those of trial forms."""

    def __init__(self, light: BandLight) -> None:
        thin = light.thinned(_PLACES)
        self.inside, self.x, self.y = thin.inside, thin.x, thin.y
        # Single precision: some 5,000 trials, and a quarter of the time.
        self.terms = terms(self.x, self.y).astype(np.float32)
        lighting = terms(self.x, self.y)[:, :QUADRIC]
        plain = thin.brightness - lighting @ np.linalg.lstsq(lighting, thin.brightness, rcond=None)[0]
        self.bands = plain.astype(np.float32)

    def best(self, trials: Iterator[Values]) -> list[Values]:
        """Return the trials, each shape = (15,), whose beat is a single peak, the best first."""
        found = [(float(np.max(self._power(trial))), number, trial) for number, trial in enumerate(trials)]
        return [trial for _, _, trial in heapq.nlargest(_KEPT, found)]

    def _power(self, trial: Values) -> NDArray[np.float32]:
        phase = self.terms @ (2 * np.pi * trial).astype(np.float32)
        turned = np.zeros((*self.inside.shape, 2), np.float32)
        turned[self.inside, 0] = self.bands * np.cos(phase)
        turned[self.inside, 1] = -self.bands * np.sin(phase)
        spectrum = cv2.dft(turned)
        return np.asarray(spectrum[..., 0] ** 2 + spectrum[..., 1] ** 2, np.float32)

    def with_tilt(self, trial: Values) -> Values:
        """Return the form with the tilt that its peak tells, to a quarter of a bin."""
        side = self.inside.shape[0]
        peak = np.unravel_index(int(np.argmax(self._power(trial))), self.inside.shape)
        down, right = ((int(each) + side // 2) % side - side // 2 for each in peak)
        beaten = self.bands * np.exp(-2j * np.pi * (self.terms @ trial))
        # A bin is a band over the square's side, two outer radii; rows run against y.
        across = np.exp(-1j * np.pi * np.outer(right + _QUARTERS, self.x))
        up = np.exp(-1j * np.pi * np.outer(-down + _QUARTERS, self.y))
        best = np.unravel_index(int(np.argmax(np.abs((across * beaten) @ up.T))), (_QUARTERS.size,) * 2)
        form = trial.copy()
        form[1] = (right + _QUARTERS[best[0]]) / 2
        form[2] = (-down + _QUARTERS[best[1]]) / 2
        return form


def _dished_and_saddled(bore: float, least: float, most: float) -> Iterator[Values]:
    """Yield forms of so much departure; what is the mirror image of one, up for down, is left out."""
    for dish in np.arange(0.0, most, _DISH_STEP):
        for along, across in _disc((most - dish) / 2, _SADDLE_STEP):
            mirrored = dish == 0 and (along, across) < (0.0, 0.0)
            if not mirrored and (least == 0 or dish + 2 * math.hypot(along, across) > least):
                form = np.zeros(QUARTIC)
                form[3:QUADRIC] = dish / (1 - bore**2), along, across
                yield form


def _lobes() -> Iterator[Values]:
    """Yield forms of three lobes, and of four."""
    for place in (8, 13):
        for pair in _disc(_MOST_LOBES, _LOBE_STEP):
            if pair == (0.0, 0.0):
                continue
            form = np.zeros(QUARTIC)
            form[place : place + 2] = pair
            yield form


def _disc(radius: float, step: float) -> list[tuple[float, float]]:
    most = int(radius / step)
    along = [step * each for each in range(-most, most + 1)]
    return [(a, b) for a in along for b in along if math.hypot(a, b) <= radius]
