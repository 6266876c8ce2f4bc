"""The course of a wear track round the face: its edges as harmonics of the angle, in outer radii."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.face.track_fit import terms
from capture.face.track_profiles import ANGLES, Array

#: The middle of each sector, degrees.
MIDDLES = np.asarray(np.degrees(ANGLES), np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Course:
    """Where the mate ran. Means and extremes are over the sectors that it touched."""

    inner: Array
    """Radius of the inner edge: mean, then cosine and sine of each order (track_fit.terms)."""
    outer: Array
    touched: NDArray[np.bool_]
    """Whether the mate touched in each of the SECTORS from three o'clock, counter-clockwise."""

    def edges(self, degrees: Array) -> tuple[Array, Array]:
        """Return the radii of both edges at these angles."""
        basis = terms(np.asarray(np.radians(degrees), np.float64))
        return basis @ self.inner, basis @ self.outer

    @property
    def radii(self) -> tuple[float, float]:
        """Mean inner and outer radius about the face's centre."""
        inner, outer = self.edges(MIDDLES[self.touched])
        return float(inner.mean()), float(outer.mean())

    @property
    def widths(self) -> tuple[float, float]:
        """Least and greatest width."""
        inner, outer = self.edges(MIDDLES[self.touched])
        width = outer - inner
        return float(width.min()), float(width.max())

    @property
    def _centre(self) -> Array:
        return np.asarray((self.inner[1:3] + self.outer[1:3]) / 2, np.float64)

    @property
    def offset(self) -> float:
        """How far the track's centre lies from the face's: first harmonic of its middle line."""
        return float(np.hypot(*self._centre))

    @property
    def direction_deg(self) -> float:
        """Where to, 0 to 360."""
        return float(np.degrees(np.arctan2(self._centre[1], self._centre[0])) % 360)

    @property
    def contact_share(self) -> float:
        """Share of the ring that was touched."""
        return float(self.touched.mean())
