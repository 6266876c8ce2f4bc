"""A straight trend of measured values, with its uncertainty: how much a thing changes, if it does."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr, stdtrit

#: With fewer points a line passes through all of them and says nothing of itself.
LEAST_POINTS = 3


@dataclass(frozen=True)
class Trend:
    """A line through points by least squares; its uncertainty supposes scatter that is normal and even."""

    points: int
    slope: float
    """Change of y for one of x."""
    intercept: float
    """y where x is 0."""
    slope_se: float
    """Standard error of the slope."""
    intercept_se: float
    """Standard error of the intercept."""
    residual_sd: float
    """How far points scatter about the line, in the unit of y."""
    p_value: float
    """How often points without any trend would look at least as steep, 0 to 1, two-sided."""
    x_mean: float
    x_squares: float
    """Sum of squares of x about its mean."""

    @property
    def freedom(self) -> int:
        """Degrees of freedom that are left for the scatter."""
        return self.points - 2

    def at(self, x: float) -> float:
        """Return the line's y."""
        return self.intercept + self.slope * x

    def slope_interval(self, level: float = 0.95) -> tuple[float, float]:
        """Return between which two values the slope lies.

        Args:
            level: of confidence, 0 to 1.
        """
        reach = self._t(level) * self.slope_se
        return self.slope - reach, self.slope + reach

    def line_interval(self, x: float, level: float = 0.95) -> tuple[float, float]:
        """Return between which two values the line itself lies at an x.

        Args:
            x: anywhere; the further from the points, the wider.
            level: of confidence, 0 to 1.
        """
        se = self.residual_sd * math.sqrt(1 / self.points + (x - self.x_mean) ** 2 / self.x_squares)
        reach = self._t(level) * se
        return self.at(x) - reach, self.at(x) + reach

    def next_interval(self, x: float, level: float = 0.95) -> tuple[float, float]:
        """Return between which two values one more point is to be expected at an x; arguments as above."""
        spread = 1 + 1 / self.points + (x - self.x_mean) ** 2 / self.x_squares
        reach = self._t(level) * self.residual_sd * math.sqrt(spread)
        return self.at(x) - reach, self.at(x) + reach

    def _t(self, level: float) -> float:
        return float(stdtrit(self.freedom, (1 + level) / 2))


def trend_of(xs: Sequence[float], ys: Sequence[float]) -> Trend | None:
    """Return the trend of points, or None where they are too few or all stand at one x.

    Args:
        xs: where they stand (running hours, days …), finite.
        ys: as many, finite, in one unit.

    Source: least squares of a straight line, checked against NIST StRD (Norris) in ``tests/published``.
    """
    if len(xs) != len(ys):
        raise ValueError(f"{len(xs)} places for {len(ys)} values")
    if len(xs) < LEAST_POINTS or len(set(xs)) < 2:
        return None
    x, y = np.asarray(xs, dtype=np.float64), np.asarray(ys, dtype=np.float64)
    # About the middle: sums of squares of large numbers would lose the digits that matter.
    x_mean = float(x.mean())
    # The mean of one value again and again is that value, which a sum need not give to the last digit.
    y_mean = float(y.mean()) if np.ptp(y) else float(y[0])
    dx, dy = x - x_mean, y - y_mean
    squares = float(dx @ dx)
    slope = float(dx @ dy) / squares
    left = dy - slope * dx
    freedom = len(xs) - 2
    residual_sd = math.sqrt(float(left @ left) / freedom)
    slope_se = residual_sd / math.sqrt(squares)
    return Trend(
        points=len(xs),
        slope=slope,
        intercept=y_mean - slope * x_mean,
        slope_se=slope_se,
        intercept_se=slope_se * math.sqrt(squares / len(xs) + x_mean**2),
        residual_sd=residual_sd,
        p_value=_chance(slope, slope_se, freedom),
        x_mean=x_mean,
        x_squares=squares,
    )


def _chance(slope: float, slope_se: float, freedom: int) -> float:
    if slope_se == 0:
        return 1.0 if slope == 0 else 0.0
    return float(2 * stdtr(freedom, -abs(slope / slope_se)))
