"""The form of a face: its height over the flat as a sum of smooth surfaces, in light bands."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

#: How many terms, from the first: height and tilt of the optical flat; with dish and saddle (together
#: a cylinder); with everything up to the fourth degree, three and four lobes included.
WEDGE, QUADRIC, QUARTIC = 3, 6, 15
#: How finely a face is looked over for its highest and lowest place.
_ANGLES, _RINGS = 360, 13


def terms(x: Values, y: Values) -> Values:
    """Return the terms at points of the face, shape = (n, 15).

    Args:
        x: shape = (n,), in outer radii, to three o'clock.
        y: the same, to twelve o'clock.

    Source: Zernike's polynomials unmixed, Born and Wolf, Principles of Optics, 7th ed., 9.2 (from memory).
    """
    r2 = x**2 + y**2
    two_c, two_s = x**2 - y**2, 2 * x * y
    columns = (
        np.ones_like(x), x, y,
        r2, two_c, two_s,
        r2 * x, r2 * y, x**3 - 3 * x * y**2, 3 * x**2 * y - y**3,
        r2 * r2, r2 * two_c, r2 * two_s, two_c**2 - two_s**2, 2 * two_c * two_s,
    )  # fmt: skip
    return np.column_stack(columns)


@dataclass(frozen=True, slots=True, eq=False)
class FaceForm:
    """Distance between flat and face, in bands (half waves); a picture does not tell up from down."""

    weights: Values
    """Of the terms, shape = (15,)."""
    bore: float
    """Radius of the inner edge in outer radii."""

    def height(self, x: Values, y: Values) -> Values:
        """Return the height at points in outer radii, shape = (n,), in bands."""
        return np.asarray(terms(x, y) @ self.weights, np.float64)

    @property
    def out_of_flat(self) -> float:
        """Highest less lowest place over the whole face once the tilt is taken out, in bands."""
        level = self.levelled
        return float(level.max() - level.min())

    @property
    def levelled(self) -> Values:
        """Heights over the least-squares plane, at places all over the face, in bands.

        Source: the reference plane of ISO 12781-1 (from memory). One as near as can be gives no more.
        """
        x, y, area = _places(self.bore)
        plane = terms(x, y)[:, :WEDGE] * area[:, None]
        height = self.height(x, y)
        tilt = np.linalg.lstsq(plane, height * area, rcond=None)[0]
        return np.asarray(height - terms(x, y)[:, :WEDGE] @ tilt, np.float64)

    @property
    def bands_across(self) -> float:
        """How many bands cross the face, tilt included."""
        x, y, _ = _places(self.bore)
        height = self.height(x, y)
        return float(height.max() - height.min())

    @property
    def steepest(self) -> float:
        """Bands in an outer radius where they lie closest."""
        x, y, _ = _places(self.bore)
        step = 1e-4
        right = self.height(x + step, y) - self.height(x - step, y)
        up = self.height(x, y + step) - self.height(x, y - step)
        return float(np.hypot(right, up).max() / (2 * step))

    @property
    def dish(self) -> float:
        """Bands of departure that the dish or crown makes, inner edge to outer."""
        return abs(float(self._smooth[3])) * (1 - self.bore**2)

    @property
    def saddle(self) -> float:
        """Bands of departure that the saddle makes."""
        return 2 * math.hypot(float(self._smooth[4]), float(self._smooth[5]))

    @property
    def _smooth(self) -> Values:
        """Weights of the six terms that come nearest to the whole form."""
        x, y, area = _places(self.bore)
        columns = terms(x, y)[:, :QUADRIC] * area[:, None]
        return np.asarray(np.linalg.lstsq(columns, self.height(x, y) * area, rcond=None)[0], np.float64)

    @property
    def closed(self) -> bool:
        """Whether a band runs round the bore: the outer edge lies wholly above the inner one, or below."""
        outer, inner = self._on_circle(1.0), self._on_circle(self.bore)
        return bool(outer.min() > inner.max() or outer.max() < inner.min())

    @property
    def round_about(self) -> float:
        """Bands that a circle round the face's centre crosses, highest less lowest."""
        height = self._on_circle((1 + self.bore) / 2)
        return float(height.max() - height.min())

    def _on_circle(self, radius: float) -> Values:
        angles = np.arange(_ANGLES) * (2 * math.pi / _ANGLES)
        return self.height(radius * np.cos(angles), radius * np.sin(angles))


def _places(bore: float) -> tuple[Values, Values, Values]:
    """Return places all over the face and the root of each one's share of the area."""
    radii, angles = np.meshgrid(np.linspace(bore, 1.0, _RINGS), np.arange(_ANGLES) * (2 * math.pi / _ANGLES))
    x, y = radii * np.cos(angles), radii * np.sin(angles)
    return x.ravel(), y.ravel(), np.sqrt(radii).ravel()
