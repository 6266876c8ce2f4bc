"""A centre and a tilt, which the circles of one part share, and an edge about a centre."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: Ratio of the axes that no usable face exceeds.
_MOST_STRETCH = 2.6


@dataclass(frozen=True, slots=True, eq=False)
class Frame:
    """A centre and a tilt, in work pixels."""

    centre: Array
    """Shape = (2,)."""
    level: Array
    """Symmetric, shape = (2, 2): makes the ring's ellipses circles, keeping their major axis."""

    def flat(self, at: Array) -> Array:
        """Return points as they lie about the centre with the tilt taken out, shape = (n, 2)."""
        return np.asarray((at - self.centre) @ self.level.T, np.float64)

    def pixels(self, flat: Array) -> Array:
        """Return where such points lie in the picture, shape = (n, 2)."""
        return np.asarray(flat @ np.linalg.inv(self.level).T + self.centre, np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """An edge about a centre: radius = size * (1 + shares of cos, sin, cos 2, sin 2 of the angle)."""

    size: float
    """Mean radius, work pixels."""
    waves: Array
    """Shape = (4,)."""

    def radius(self, angles: Array) -> Array:
        """Return the radius at angles (radians, picture sense), shape = (n,)."""
        return np.asarray(self.size * (1.0 + waves(angles) @ self.waves), np.float64)

    def frame(self, about: Frame) -> Frame:
        """Return the centre and tilt of this edge itself, where it was found about another."""
        shift = self.size * self.waves[:2]
        cos2, sin2 = float(self.waves[2]), float(self.waves[3])
        level = about.level - np.array([[cos2, sin2], [sin2, -cos2]]) @ about.level
        values, vectors = np.linalg.eigh(level.T @ level)
        values = np.sqrt(np.maximum(values, 1e-6))
        values = np.clip(values / values[0], 1.0, _MOST_STRETCH)
        return Frame(about.pixels(shift[None])[0], np.asarray(vectors @ np.diag(values) @ vectors.T))


def waves(angles: Array) -> Array:
    """Return cos, sin, cos 2, sin 2 of angles, shape = (n, 4)."""
    return np.column_stack([np.cos(angles), np.sin(angles), np.cos(2 * angles), np.sin(2 * angles)])
