"""Mains hum: whether the lines of 50 or 60 hertz stand in a recording, and how loud.

Hum is steady, a voice's pitch and a motor's load are not: of many seconds each frequency's quiet quarter
is taken, in which only what is always there is left.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.sound_blocks import RATE_HZ, Samples

#: One second, so that one bin is one hertz.
_WINDOW = RATE_HZ
_TOP_HZ = 700
#: Seconds that are kept; of longer recordings every second, fourth … one.
_MOST_WINDOWS = 96
_LEAST_WINDOWS = 3
_STEADY_PERCENTILE = 25
_BASES_HZ = (50, 60)
_HARMONICS = 10
#: Lines that must stand out, by so much over what is beside them.
_LEAST_LINES = 3
_LINE_DB = 10.0
_FULL_SCALE = 32768.0


@dataclass(frozen=True, slots=True)
class Hum:
    """Mains hum that was found."""

    base_hz: int
    """50 or 60."""
    lines: int
    """How many of the first ten harmonics stand out."""
    level_dbfs: float
    """Of those lines together (root mean square)."""


class HumEar:
    """Hears a recording block by block."""

    def __init__(self) -> None:
        self._taper = np.hanning(_WINDOW)
        self._scale = 2 / (_WINDOW * float(np.sum(self._taper**2)))
        self._waiting = np.zeros(0, np.int16)
        self._number = 0
        self._every = 1
        self._kept: list[NDArray[np.float64]] = []

    def hear(self, block: Samples) -> None:
        """Hear a block of any length; int16, mono, 16 kHz."""
        sound = np.concatenate([self._waiting, block])
        whole = len(sound) - len(sound) % _WINDOW
        for window in sound[:whole].reshape(-1, _WINDOW):
            self._keep(window)
        self._waiting = sound[whole:].copy()

    def _keep(self, window: Samples) -> None:
        if self._number % self._every == 0:
            spectrum = np.fft.rfft(window * self._taper)[: _TOP_HZ + 1]
            self._kept.append(np.abs(spectrum) ** 2 * self._scale)
            if len(self._kept) > _MOST_WINDOWS:
                self._kept = self._kept[::2]
                self._every *= 2
        self._number += 1

    def found(self) -> Hum | None:
        """Return the hum, or None where there is none or too little sound to tell."""
        if len(self._kept) < _LEAST_WINDOWS:
            return None
        steady = np.percentile(np.stack(self._kept), _STEADY_PERCENTILE, axis=0)
        hums = [hum for base in _BASES_HZ if (hum := _hum_of(steady, base)) is not None]
        return max(hums, key=lambda hum: (hum.lines, hum.level_dbfs), default=None)


def _hum_of(steady: NDArray[np.float64], base_hz: int) -> Hum | None:
    power, lines = 0.0, 0
    for harmonic in range(1, _HARMONICS + 1):
        at = base_hz * harmonic
        line = float(steady[at - 1 : at + 2].sum())
        beside = np.concatenate([steady[at - 10 : at - 3], steady[at + 4 : at + 11]])
        floor = max(3 * float(np.median(beside)), 1e-6)
        if line > floor * 10 ** (_LINE_DB / 10):
            lines += 1
            power += line
    if lines < _LEAST_LINES:
        return None
    return Hum(base_hz, lines, 10 * float(np.log10(power / _FULL_SCALE**2)))
