"""How long things last when some of them still run (Kaplan and Meier): those count as far as they got."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True)
class Survival:
    """The estimated share that lasts longer than a time, step by step, with its 95 % interval."""

    spans: int
    """How many lasted or still last."""
    ended: int
    """How many of them ended."""
    times: tuple[float, ...]
    """Of the spans, each once, in order."""
    shares: tuple[float, ...]
    """Which last longer than that, 0 to 1."""
    lows: tuple[float, ...]
    highs: tuple[float, ...]
    """Between which the share lies, 95 %; nan where nothing has ended yet or nothing is left."""
    median: float | None
    """The time by which half of them ended; None while more than half last."""
    median_low: float | None
    median_high: float | None
    """Its 95 % interval (Brookmeyer and Crowley); None: not bounded by what was seen."""
    mean: float
    """Mean of what was seen: up to ``mean_to``, no longer."""
    mean_se: float | None
    """Its standard error; None where it cannot be told."""
    mean_to: float
    """The longest span."""
    mean_whole: bool
    """Whether the longest span ended; else the mean is at least that."""

    def share_after(self, time: float) -> float:
        """Return the share that lasts longer than a time."""
        before = [share for at, share in zip(self.times, self.shares, strict=True) if at <= time]
        return before[-1] if before else 1.0


def survival_of(spans: Sequence[float], ended: Sequence[bool]) -> Survival | None:
    """Return how long things last, or None where nothing was seen to end.

    Args:
        spans: how long each lasted, or lasts so far; positive, in one unit.
        ended: whether it ended; one that did not counts as lasting longer than its span.

    Source: Kaplan and Meier (1958) by scipy's ``ecdf``, interval by log-log of Greenwood's variance; checked
    against published examples in ``tests/published``.
    """
    if len(spans) != len(ended):
        raise ValueError(f"{len(spans)} spans, {len(ended)} of them known to have ended or not")
    if not any(ended):
        return None
    from scipy import stats  # a second to import: not at every start of the program

    still = np.logical_not(np.asarray(ended, dtype=bool))
    found = stats.ecdf(stats.CensoredData.right_censored(np.asarray(spans, dtype=np.float64), still)).sf
    times, shares = found.quantiles, found.probabilities
    lows, highs = _interval(found)
    mean, mean_se = _mean(np.asarray(spans, dtype=np.float64), still, times, shares)
    return Survival(
        spans=len(spans),
        ended=sum(ended),
        times=tuple(map(float, times)),
        shares=tuple(map(float, shares)),
        lows=tuple(map(float, lows)),
        highs=tuple(map(float, highs)),
        median=_first(times, shares),
        median_low=_first(times, lows),
        median_high=_first(times, highs),
        mean=mean,
        mean_se=mean_se,
        mean_to=float(times[-1]),
        mean_whole=bool(shares[-1] == 0.0),
    )


def _interval(found: Any) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    # Where nobody is left, or nothing has ended yet, it is not defined: the library says nan and warns.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)
        interval = found.confidence_interval(method="log-log")
    return interval.low.probabilities, interval.high.probabilities


def _first(times: NDArray[np.float64], shares: NDArray[np.float64]) -> float | None:
    """Return the first time at which half or less are left."""
    # A share of one half that was multiplied together is one half within rounding.
    below = np.nonzero(shares <= 0.5 + 1e-12)[0]
    return float(times[below[0]]) if len(below) else None


def _mean(
    spans: NDArray[np.float64],
    still: NDArray[np.bool_],
    times: NDArray[np.float64],
    shares: NDArray[np.float64],
) -> tuple[float, float | None]:
    """Return the area under the curve up to the longest span, and its standard error.

    Source: Klein and Moeschberger, Survival Analysis, 2nd ed. 2003, formulas 4.5.1 and 4.5.2 (from memory),
    with Greenwood's variance; checked against statsmodels.
    """
    edges = np.concatenate(([0.0], times))
    left = np.concatenate(([1.0], shares[:-1]))
    areas = np.diff(edges) * left
    ordered, ends_at = np.sort(spans), np.sort(spans[~still])
    at_risk = len(spans) - np.searchsorted(ordered, times, side="left")
    ends = np.searchsorted(ends_at, times, side="right") - np.searchsorted(ends_at, times, side="left")
    # What lies under the curve after each time.
    after = np.concatenate((np.cumsum(areas[::-1])[::-1][1:], [0.0]))[: len(times)]
    counts = (ends > 0) & (at_risk > ends)  # else nothing ends then, or nothing is left after it
    terms = after[counts] ** 2 * ends[counts] / (at_risk[counts] * (at_risk[counts] - ends[counts]))
    variance = float(terms.sum())
    mean = float(areas.sum())
    return mean, (variance**0.5 if variance > 0 else None)
