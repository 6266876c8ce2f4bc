"""How likely an amount is at a pump bench at all, before any job sheet is known.

The spans are wide on purpose (common practice, no source): they part 155 foot-pounds from 1.55 and
0.031 inch from 31,000, and never part two values that a sheet could both want.
"""

from __future__ import annotations

from fractions import Fraction

_F = Fraction
#: Least and most of the usual, by unit.
_USUAL: dict[str, tuple[Fraction, Fraction]] = {
    "in": (_F(1, 20_000), _F(150)), "mm": (_F(1, 1000), _F(6000)), "um": (_F(1, 20), _F(6000)),
    "ft_lb": (_F(3), _F(3000)), "in_lb": (_F(3), _F(3000)), "N_m": (_F(1, 2), _F(6000)),
    "psi": (_F(1, 4), _F(12_000)), "bar": (_F(1, 50), _F(1200)), "kPa": (_F(1), _F(60_000)),
    "degC": (_F(-40), _F(450)), "degF": (_F(-40), _F(850)), "rpm": (_F(40), _F(25_000)),
    "mm_s": (_F(1, 100), _F(120)), "g": (_F(1, 10), _F(2_000_000)), "count": (_F(0), _F(500)),
    "min": (_F(1, 20), _F(1500)), "s": (_F(1, 2), _F(299)), "percent": (_F(0), _F(300)),
}  # fmt: skip
#: Most that is said in a unit that is part of another.
_MOST_SAID = {"thou": _F(1500), "tenths": _F(60), "mil": _F(3000)}
_BARE_MOST = _F(9999)


def oddity(value: Fraction, unit: str | None, said: str | None, number: Fraction) -> float:
    """Return a cost for an amount outside the usual: 0 inside, about 2 to 4 outside."""
    if unit is None:
        return 2.7 if number > _BARE_MOST else 0.0
    size = abs(value)
    if size == 0:
        return 0.0
    if said == "thou" and size < _F(1, 20_000):
        return 2.5
    most_said = _MOST_SAID.get(said or "")
    if most_said is not None and unit == "in" and abs(number) > most_said:
        return 2.2
    least, most = _USUAL[unit]
    compared = value if unit in ("degC", "degF") else size
    if compared > most:
        return 2.8 if compared < most * 3 else 3.6
    return 2.6 if compared < least else 0.0
