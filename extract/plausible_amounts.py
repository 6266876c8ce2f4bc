"""How likely an amount is at a pump bench at all, before any job sheet is known.

The spans are wide on purpose (common practice, no source): they part 155 foot-pounds from 1.55 and
0.031 inch from 31,000, and never part two values that a sheet could both want.
"""

from __future__ import annotations

from fractions import Fraction

#: Least and most of the usual, by unit; doubles, since no value is made of them.
_USUAL: dict[str, tuple[float, float]] = {
    "in": (1 / 20_000, 150), "mm": (0.001, 6000), "um": (0.05, 6000), "ft_lb": (3, 3000),
    "in_lb": (3, 3000), "N_m": (0.5, 6000), "psi": (0.25, 12_000), "bar": (0.02, 1200), "kPa": (1, 60_000),
    "degC": (-40, 450), "degF": (-40, 850), "rpm": (40, 25_000), "mm_s": (0.01, 120),
    "g": (0.1, 2_000_000), "count": (0, 500), "min": (0.05, 1500), "s": (0.5, 299), "percent": (0, 300),
}  # fmt: skip
#: Most that is said in a unit that is part of another.
_MOST_SAID = {"thou": 1500.0, "tenths": 60.0, "mil": 3000.0}
_LEAST_THOU = 1 / 20_000
_BARE_MOST = 9999


def oddity(value: Fraction, unit: str | None, said: str | None, number: Fraction) -> float:
    """Return a cost for an amount outside the usual: 0 inside, about 2 to 4 outside."""
    if unit is None:
        return 2.7 if number > _BARE_MOST else 0.0
    real = _double(value)
    size = abs(real)
    if size == 0:
        return 0.0
    if said == "thou" and size < _LEAST_THOU:
        return 2.5
    most_said = _MOST_SAID.get(said or "")
    if most_said is not None and unit == "in" and abs(_double(number)) > most_said:
        return 2.2
    least, most = _USUAL[unit]
    compared = real if unit in ("degC", "degF") else size
    if compared > most:
        return 2.8 if compared < most * 3 else 3.6
    return 2.6 if compared < least else 0.0


def _double(value: Fraction) -> float:
    """Return the nearest double, an endless one for figures too long."""
    try:
        return value.numerator / value.denominator
    except OverflowError:
        return float("inf")
