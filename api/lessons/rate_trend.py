"""Whether a rate changes from month to month, and how well that is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from api.statistics.chance import trend_of_shares, two_sided
from api.statistics.fitted_line import FittedLine, fitted_line

#: Fewer months, or fewer cases either way, and the tests' own approximations do not hold: nothing is said.
#: Common practice (five expected a cell), taken wider since a figure among hundreds is judged far out in the
#: tail.
LEAST_MONTHS, LEAST_CASES = 6, 8


@dataclass(frozen=True)
class Month:
    """What one month counts."""

    month: str
    """YYYY-MM."""
    wanted: int
    lacking: int

    @property
    def year(self) -> float:
        """Its middle, in years."""
        return int(self.month[:4]) + (int(self.month[5:7]) - 0.5) / 12


@dataclass(frozen=True)
class RateTrend:
    """A rate's straight line over time."""

    line: FittedLine
    """Share over years; each month weighs as much as it counts."""
    chance: float
    """How often chance alone makes such a trend: by the months' own scatter or by the counts, whichever is
    oftener."""


def rate_trend(months: Sequence[Month]) -> RateTrend | None:
    """Return a rate's trend, or None where too little is known to speak of one.

    Args:
        months: in any order; months without cases may be left out.
    """
    told = [one for one in months if one.wanted > 0 and one.month]
    lacking, wanted = sum(one.lacking for one in told), sum(one.wanted for one in told)
    if len(told) < LEAST_MONTHS or min(lacking, wanted - lacking) < LEAST_CASES:
        return None
    years = [one.year for one in told]
    totals = [one.wanted for one in told]
    line = fitted_line(years, [one.lacking / one.wanted for one in told], totals)
    by_counts = two_sided(trend_of_shares(years, [one.lacking for one in told], totals))
    # The counts alone know nothing of months that differ for other reasons; the scatter alone is little where
    # there are few months. Only what both call rare is rare.
    return RateTrend(line, max(line.chance, by_counts))
