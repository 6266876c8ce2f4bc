"""What chance alone does: tests of shares, and what is left of them where many are looked at together.

A page of lessons looks at a hundred figures at once. One in twenty would look strange by chance if each were
judged by itself, so whatever is pointed out must be rarer than that by all that was looked at.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaln, ndtr

Floats = NDArray[np.float64]


def more_often(count: int, total: int, other_count: int, other_total: int) -> float:
    """Return how often chance alone gives one group as many cases or more (Fisher's exact test, one-sided).

    Args:
        count: cases of the group.
        total: cases that it could have had.
        other_count: cases of all others.
        other_total: cases that they could have had.

    Source: R. A. Fisher, The Design of Experiments (1935), ch. 2.
    """
    cases, everything = count + other_count, total + other_total
    most = min(cases, total)
    if count <= max(0, cases - other_total):
        return 1.0
    seen: Any = np.arange(count, most + 1)
    # Hypergeometric, by logarithms: the numbers themselves have hundreds of digits.
    logs = _ways(total, seen) + _ways(other_total, cases - seen) - _ways(everything, cases)
    return min(1.0, float(np.exp(logs).sum()))


def trend_of_shares(x: Sequence[float], counts: Sequence[int], totals: Sequence[int]) -> float:
    """Return the Cochran–Armitage statistic z of shares along x; above zero where they rise.

    Args:
        x: where, e.g. years.
        counts: cases at each.
        totals: cases that there could have been at each.

    Returns:
        z, normal with variance 1 where there is no trend; 0 where nothing can be said.

    Source: W. G. Cochran, Biometrics 10 (1954) 417; P. Armitage, Biometrics 11 (1955) 375.
    """
    at, seen, could = (np.asarray(one, float) for one in (x, counts, totals))
    everything = could.sum()
    share = seen.sum() / everything if everything else 0.0
    middle = could @ at / everything if everything else 0.0
    variance = share * (1 - share) * (could @ (at - middle) ** 2)
    return float(seen @ (at - middle) / sqrt(variance)) if variance > 0 else 0.0


def two_sided(z: float) -> float:
    """Return how often chance alone gives a normal deviate as far out as z."""
    return float(2 * ndtr(-abs(z)))


def holm(chances: Sequence[float]) -> list[float]:
    """Return each chance as it counts where all were looked at together.

    Whatever stands below a level then stands there by chance no oftener than that in the whole family,
    however the figures hang together.

    Args:
        chances: of each test by itself, 0 to 1.

    Source: S. Holm, Scand. J. Statist. 6 (1979) 65.
    """
    found = [1.0] * len(chances)
    worst = 0.0
    for rank, index in enumerate(sorted(range(len(chances)), key=lambda one: chances[one])):
        worst = max(worst, min(1.0, (len(chances) - rank) * chances[index]))
        found[index] = worst
    return found


def tarone(chances: Sequence[float], least: Sequence[float], level: float) -> set[int]:
    """Return which tests of few cases are no chance where all were looked at together.

    A test that could not have come below the bound whatever was seen raises no alarm, so it is not counted:
    of a hundred figures, most of them with a handful of cases, few can.

    Args:
        chances: of each test by itself, 0 to 1.
        least: the least that each could have had, given how many cases there are in all.
        level: how often chance alone may point out any of them.

    Source: R. E. Tarone, Biometrics 46 (1990) 515 (from memory).
    """
    for count in range(1, len(chances) + 1):
        able = [number for number, one in enumerate(least) if one <= level / count]
        if len(able) <= count:
            return {number for number in able if chances[number] <= level / count}
    return set()


def _ways(of: int, chosen: Any) -> Floats:
    """Return the logarithm of how many ways there are to choose some of some."""
    ways: Floats = -np.log(of + 1.0) - betaln(of - chosen + 1.0, chosen + 1.0)
    return ways
