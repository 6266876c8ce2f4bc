"""Where the mate touched: the stretches of a band in which its contrast is missing."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture.face.track_profiles import SECTORS, Array

#: How much the contrast of a touched sector may stray from that of the others, as a share of it.
_STRAY = 0.3
#: A stretch is a gap when what is left of the contrast is less than this share ...
_LEFT = 0.4
#: ... it is this many sectors long (10 degrees) ...
_LEAST_SECTORS = 2
#: ... and "nothing there" is likelier than "as elsewhere" by this (natural logarithm of the ratio).
_LEAST_EVIDENCE = 6.0
_MOST_GAPS = 3
#: Sectors on each side from which the usual contrast of a place is taken: 60 degrees.
_AROUND = 12


def gaps(contrast: Array, seen: Array) -> NDArray[np.bool_]:
    """Return which sectors were not touched.

    Args:
        contrast: of each sector alone, in standard deviations of the noise, shape = (SECTORS,).
        seen: 1 where a sector can be judged, shape = (SECTORS,).
    """
    gap = np.zeros(SECTORS, np.bool_)
    for _ in range(_MOST_GAPS):
        usual = _usual(contrast, (seen > 0) & ~gap)
        spread = 1 + (_STRAY * usual) ** 2
        # What lies below zero or above the usual counts as zero or as the usual.
        inside = np.clip(contrast * np.sign(usual), 0, np.abs(usual))
        evidence = ((inside - np.abs(usual)) ** 2 - inside**2) / (2 * spread)
        evidence = np.where(seen > 0, evidence, 0.0)
        evidence[gap] = -1e3
        first, count, total = _best_run(evidence)
        run = (first + np.arange(count)) % SECTORS
        looked = run[seen[run] > 0]
        if count < _LEAST_SECTORS or total < _LEAST_EVIDENCE or count > SECTORS // 2 or looked.size == 0:
            break
        if abs(contrast[looked].mean()) > _LEFT * np.abs(usual[looked]).mean():
            break
        gap[run] = True
    return gap


def _usual(contrast: Array, known: NDArray[np.bool_]) -> Array:
    """Return the contrast that the sectors around each one have: the upper quartile, with the common sign."""
    result = np.zeros(SECTORS)
    everywhere = contrast[known]
    for sector in range(SECTORS):
        near = (sector + np.arange(-_AROUND, _AROUND + 1)) % SECTORS
        values = contrast[near[known[near]]]
        values = values if values.size >= _AROUND // 2 else everywhere
        if values.size:
            sign = np.sign(np.sum(values)) or 1.0
            result[sector] = sign * max(np.quantile(values * sign, 0.7), 0.0)
    return result


def _best_run(evidence: Array) -> tuple[int, int, float]:
    """Return first sector, length and sum of the stretch of most evidence; the ring is closed."""
    best = (0, 0, 0.0)
    twice = np.concatenate([evidence, evidence])
    total = np.concatenate([[0.0], np.cumsum(twice)])
    for count in range(1, SECTORS // 2 + 2):
        sums = total[count : count + SECTORS] - total[:SECTORS]
        at = int(np.argmax(sums))
        if sums[at] > best[2]:
            best = (at, count, float(sums[at]))
    return best
