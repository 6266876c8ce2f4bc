"""How well a rate is known: Wilson's interval, which holds for few cases and for none seen."""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt
from statistics import NormalDist

#: Confidence of everything that pages show.
LEVEL = 0.95


@dataclass(frozen=True)
class Interval:
    """From where to where, in the unit of what it is about."""

    low: float
    high: float


def wilson(count: int, total: int, level: float = LEVEL) -> Interval:
    """Return the score interval of a share, without correction for continuity.

    Args:
        count: cases seen, 0 to ``total``.
        total: cases that there could have been, at least 1.
        level: confidence, between 0 and 1.

    Raises:
        ValueError: no such share.

    Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; method 3 of R. G. Newcombe, Stat. Med. 17
    (1998) 857.
    """
    if not 0 <= count <= total or total < 1:
        raise ValueError(f"{count} of {total} is no share")
    z = NormalDist().inv_cdf(0.5 + level / 2)
    share, shrink = count / total, 1 + z * z / total
    middle = (share + z * z / (2 * total)) / shrink
    half = z / shrink * sqrt(share * (1 - share) / total + z * z / (4 * total * total))
    # Rounding must not say that none can be where none were seen, or the other way about.
    return Interval(
        0.0 if count == 0 else max(0.0, middle - half), 1.0 if count == total else min(1.0, middle + half)
    )
