"""A straight line through points, by least squares, and how well its slope is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
from scipy.special import stdtr, stdtrit

from api.statistics.intervals import LEVEL, Interval

#: With fewer points a line passes through all of them and says nothing of itself.
LEAST_POINTS = 3


@dataclass(frozen=True)
class FittedLine:
    """A line ``y = intercept + slope * x``."""

    slope: float
    intercept: float
    slope_error: float
    """Standard error, in the slope's unit."""
    intercept_error: float
    residual_deviation: float
    """Of a point of weight one about the line."""
    freedom: int
    """Points less two."""
    middle: float
    """Weighted mean of x."""
    weight: float
    """Of all points together."""
    squares: float
    """Weighted sum of squares of x about its middle."""

    def at(self, x: float) -> float:
        """Return the line's y."""
        return self.intercept + self.slope * x

    def slope_interval(self, level: float = LEVEL) -> Interval:
        """Return where the slope lies (Student's t)."""
        reach = _quantile(self.freedom, level) * self.slope_error
        return Interval(self.slope - reach, self.slope + reach)

    def band(self, x: float, level: float = LEVEL) -> Interval:
        """Return where the line itself lies at an x; single points lie wider."""
        error = sqrt(self.residual_deviation**2 / self.weight + (self.slope_error * (x - self.middle)) ** 2)
        reach = _quantile(self.freedom, level) * error
        return Interval(self.at(x) - reach, self.at(x) + reach)

    @property
    def chance(self) -> float:
        """How often chance alone makes a slope as steep where there is none (two-sided t test)."""
        if self.slope_error == 0:
            return 1.0 if self.slope == 0 else 0.0
        return float(2 * stdtr(self.freedom, -abs(self.slope / self.slope_error)))


def fitted_line(x: Sequence[float], y: Sequence[float], weights: Sequence[float] | None = None) -> FittedLine:
    """Fit a line by weighted least squares; its errors come from the scatter about it.

    Args:
        x: where, at least three points, not all at one place.
        y: as many values.
        weights: as many, above zero: one over a point's variance, but for a common factor. None: one each.

    Raises:
        ValueError: too few points, or all at one place.

    Source: JCGM 100:2008, annex H.3; Draper and Smith, Applied Regression Analysis (from memory). Checked
    against NIST StRD (Norris) in ``tests/published``.
    """
    at, values = np.asarray(x, float), np.asarray(y, float)
    heavy = np.ones_like(at) if weights is None else np.asarray(weights, float)
    if len(at) < LEAST_POINTS or np.ptp(at) == 0:
        raise ValueError(f"a line needs {LEAST_POINTS} points that are not all at one place")
    total = float(heavy.sum())
    middle = float(heavy @ at / total)
    # The mean of one value again and again is that value, which a sum need not give to the last digit.
    level = float(heavy @ values / total) if np.ptp(values) else float(values[0])
    # About the middle: sums of squares of large numbers would lose the digits that matter.
    off = at - middle
    spread = float(heavy @ off**2)
    slope = float(heavy @ (off * (values - level)) / spread)
    residuals = values - level - slope * off
    freedom = len(at) - 2
    variance = float(heavy @ residuals**2) / freedom
    return FittedLine(
        slope=slope,
        intercept=level - slope * middle,
        slope_error=sqrt(variance / spread),
        intercept_error=sqrt(variance * (1 / total + middle**2 / spread)),
        residual_deviation=sqrt(variance),
        freedom=freedom,
        middle=middle,
        weight=total,
        squares=spread,
    )


def trend_of(x: Sequence[float], y: Sequence[float]) -> FittedLine | None:
    """Return the line through points, or None where they are too few or all stand at one x.

    Args:
        x: where they stand (running hours, days …), finite.
        y: as many, finite, in one unit.
    """
    if len(x) != len(y):
        raise ValueError(f"{len(x)} places for {len(y)} values")
    return fitted_line(x, y) if len(x) >= LEAST_POINTS and len(set(x)) > 1 else None


def _quantile(freedom: int, level: float) -> float:
    return float(stdtrit(freedom, 0.5 + level / 2))
