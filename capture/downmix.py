"""Two channels to one, without losing the speaker to a dead or a reversed channel.

A plain average halves a voice that is on one channel only and cancels a pair of which one wire is
reversed. Which channels carry sound is judged over the last half minute or so, and the weights
change by a ramp over one block, so that nothing clicks.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

#: A channel this much weaker than the other (power) carries nothing: -40 dB.
_DEAD_POWER_RATIO = 1e-4
#: Below this correlation one channel is the other turned over.
_REVERSED_CORRELATION = -0.5
#: What a sample leaves of the sums before it: a memory of 25 s at 16 kHz.
_KEEP = 1 - 1 / (25 * 16000)


class Downmix:
    """Mixes stereo blocks of one recording, in order."""

    def __init__(self) -> None:
        self._left = self._right = self._cross = 0.0
        self._weights: NDArray[np.float32] | None = None

    def mix(self, block: NDArray[np.int16]) -> NDArray[np.int16]:
        """Mix one block.

        Args:
            block: shape = (samples, 2), int16.

        Returns:
            shape = (samples,), int16.
        """
        if not len(block):
            return np.zeros(0, np.int16)
        sound = block.astype(np.float32)
        self._listen(sound)
        wanted = self._wanted_weights()
        before = wanted if self._weights is None else self._weights
        self._weights = wanted
        if np.array_equal(before, wanted):
            mixed = sound @ wanted
        else:
            ramp = np.linspace(0.0, 1.0, len(sound), dtype=np.float32)[:, None]
            mixed = (sound * (before + (wanted - before) * ramp)).sum(axis=1)
        whole: NDArray[np.int16] = np.clip(np.rint(mixed), -32768, 32767).astype(np.int16)
        return whole

    def _listen(self, sound: NDArray[np.float32]) -> None:
        left, right = sound[:, 0].astype(np.float64), sound[:, 1].astype(np.float64)
        keep = _KEEP ** len(sound)
        self._left = self._left * keep + float(left @ left)
        self._right = self._right * keep + float(right @ right)
        self._cross = self._cross * keep + float(left @ right)

    def _wanted_weights(self) -> NDArray[np.float32]:
        weaker, stronger = sorted((self._left, self._right))
        if weaker <= stronger * _DEAD_POWER_RATIO and stronger > 0:
            weights = (1.0, 0.0) if self._left > self._right else (0.0, 1.0)
        elif stronger > 0 and self._cross < _REVERSED_CORRELATION * np.sqrt(self._left * self._right):
            weights = (0.5, -0.5)
        else:
            weights = (0.5, 0.5)
        return np.array(weights, np.float32)
