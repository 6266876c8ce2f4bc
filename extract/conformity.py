"""Whether a value conforms: within, outside, or undecided because of how well it was measured.

The rule of ISO 14253-1: conformity is proven inside the limits narrowed by the expanded uncertainty
U (k = 2), nonconformity outside the limits widened by it; between the two nothing is proven. Exact
arithmetic, so that a value on a limit is on it.
"""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from shared.record import Verdict
from shared.sheet_entries import Limits

Number = Fraction | Decimal | int


def verdict_of(
    value: Number, lower: Number | None, upper: Number | None, uncertainty: Number | None = None
) -> Verdict:
    """Judge a value against its limits.

    Args:
        value: measured, in the unit of the limits.
        lower: least allowed; None for no limit.
        upper: most allowed; None for no limit.
        uncertainty: expanded, k = 2, same unit; None counts as none.

    Returns:
        ``no_limit`` without limits; ``within`` if lower + U <= value <= upper - U; ``outside`` if
        value < lower - U or value > upper + U; else ``undecided``.
    """
    if lower is None and upper is None:
        return "no_limit"
    exact = Fraction(value)
    guard = Fraction(0) if uncertainty is None else Fraction(uncertainty)
    low = None if lower is None else Fraction(lower)
    high = None if upper is None else Fraction(upper)
    if (low is not None and exact < low - guard) or (high is not None and exact > high + guard):
        return "outside"
    above = low is None or exact >= low + guard
    below = high is None or exact <= high - guard
    return "within" if above and below else "undecided"


def judge(value: Number, limits: Limits) -> Verdict:
    """Judge a value of a sheet's item."""
    return verdict_of(value, limits.lower, limits.upper, limits.uncertainty)
