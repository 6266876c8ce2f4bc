"""What an invented gauge reads: near where the sheet wants it, and now and then outside."""

from __future__ import annotations

from decimal import Decimal
from random import Random

from shared.job_sheet import JobSheet
from shared.sheet_entries import Limits

#: So many standard deviations between the middle and a limit: what is outside was drawn to be so.
_WITHIN = 5.0


def drawn_value(limits: Limits, rng: Random, *, missed: float) -> Decimal:
    """Return a value that an item may have.

    Args:
        limits: of the item.
        rng: the chance.
        missed: how often it is outside its limits.
    """
    middle, spread = _middle(limits)
    value = rng.gauss(middle, spread / _WITHIN)
    if (limits.lower is not None or limits.upper is not None) and rng.random() < missed:
        above = limits.lower is None or (limits.upper is not None and rng.random() < 0.5)
        value = middle + (1 if above else -1) * spread * rng.uniform(1.3, 1.8)
    return rounded(value, limits)


def drifting_value(limits: Limits, rng: Random, *, moved: float, scatter: float) -> Decimal:
    """Return a value that moved by so much, scattered about; both in the item's unit."""
    return rounded(_middle(limits)[0] + moved + rng.gauss(0, scatter), limits)


def rounded(value: float, limits: Limits) -> Decimal:
    """Return a value as its gauge shows it: half the uncertainty or finer, and never implausible."""
    if limits.plausible is not None:
        low, high = (float(one) for one in limits.plausible)
        value = min(max(value, low), high)
    if limits.unit == "count":
        return Decimal(round(value))
    places = max(limits.decimals, 1)
    if limits.uncertainty:
        places = max(places, -int(limits.uncertainty.adjusted()))
    exact = Decimal(f"{value:.{places}f}").normalize()
    return Decimal(f"{exact:f}")


def _middle(limits: Limits) -> tuple[float, float]:
    """Return where an item lies and how far from there its limits are."""
    low = None if limits.lower is None else float(limits.lower)
    high = None if limits.upper is None else float(limits.upper)
    if low is not None and high is not None:
        return (low + high) / 2, (high - low) / 2
    if high is not None:
        return high * 0.5, high * 0.5
    if low is not None:
        return low * 1.6, low * 0.6
    least, most = (float(one) for one in limits.plausible) if limits.plausible else (0.0, 1.0)
    return least + (most - least) * 0.2, (most - least) * 0.1


def place_words(sheet: JobSheet, item: str, position: str | None) -> str:
    """Return what the place of a reading is called, with a blank before it, or nothing."""
    return "" if position is None else f" {sheet.place_of(position, item)}"
