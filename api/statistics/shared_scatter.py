"""Trends of many alike things, each judged with what all of them tell of the scatter.

One pump's ten readings tell little of how far such readings scatter; those of all pumps tell more. How much
they are worth follows from how alike their scatters are: not at all where each has its own. One gross error
among the readings of a pump must neither spoil what the others tell nor look like a trend: medians stand for
all of them, and no pump is judged by less scatter than its own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from scipy.special import digamma, ndtr, polygamma, stdtr

from api.statistics.fitted_line import FittedLine

#: With fewer of them nothing is known of how alike they are.
LEAST = 4


def step_of(values: Sequence[float]) -> float:
    """Return how finely values were read: the smallest step between two of them, 0 where all are one."""
    seen = sorted(set(values))
    return min((after - before for before, after in pairwise(seen)), default=0.0)


def chances_of(trends: Sequence[FittedLine], step: float) -> list[float]:
    """Return, of each trend, how often scatter alone looks at least as steep, two-sided.

    Args:
        trends: of alike things, in one unit.
        step: how finely values were read, same unit; a scatter below that of rounding is none that was seen.

    Source: moderated t: G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 3 (2004) 3, with the prior of its section
    6.2, medians in place of means (formulas from memory; limits and false alarms are checked in the tests).
    """
    rounding = step**2 / 12  # variance of an even spread over one step
    variances = [max(one.residual_deviation**2, rounding) for one in trends]
    prior, worth = _prior(variances, [one.freedom for one in trends])
    found: list[float] = []
    for one, variance in zip(trends, variances, strict=True):
        if variance <= 0:
            found.append(1.0)  # no scatter and no step: one value throughout
            continue
        freedom = worth + one.freedom
        share = 1.0 if math.isinf(worth) else worth / freedom
        known = max(variance, share * prior + (1 - share) * variance)
        t = abs(one.slope) / math.sqrt(known / one.squares)
        found.append(float(2 * (ndtr(-t) if math.isinf(freedom) else stdtr(freedom, -t))))
    return found


def _prior(variances: Sequence[float], freedoms: Sequence[int]) -> tuple[float, float]:
    """Return the variance that all share, and how many degrees of freedom that is worth (0: nothing)."""
    from scipy import optimize  # half a second to import: not at every start of the program

    known = [(math.log(one), d / 2) for one, d in zip(variances, freedoms, strict=True) if one > 0]
    if len(known) < LEAST:
        return 1.0, 0.0
    halves = np.asarray([half for _, half in known])
    centred = np.asarray([log for log, _ in known]) - digamma(halves) + np.log(halves)
    middle = float(np.median(centred))
    # 1.4826: of a normal spread, by its median deviation.
    spread = 1.4826 * float(np.median(np.abs(centred - middle)))
    more = spread**2 - float(polygamma(1, halves).mean())
    # trigamma falls from 1e4 to 1e-4 there; beyond it the prior is worth nothing, or everything.
    if more >= 1e4:
        return 1.0, 0.0
    if more <= 1e-4:
        return math.exp(middle), math.inf
    half = float(optimize.brentq(lambda x: float(polygamma(1, x)) - more, 1e-3, 1e5))
    return math.exp(middle + float(digamma(half)) - math.log(half)), 2 * half
