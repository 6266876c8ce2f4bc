"""The closed list of units, what kind each measures, and exact conversion between them.

Values travel as :class:`fractions.Fraction` so that a thousandth of an inch stays one; pint holds
the definitions (NIST SP 811, Appendix B: the inch is 25.4 mm and the pound 0.45359237 kg exactly).
"""

from __future__ import annotations

from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any, Literal, get_args

import pint

from shared.errors import SettingError

Unit = Literal[
    "in", "mm", "um", "ft_lb", "in_lb", "N_m", "psi", "bar", "kPa", "degC", "degF", "rpm", "mm_s", "g",
    "count", "min", "s", "percent",
]  # fmt: skip
Kind = Literal["length", "torque", "pressure", "temperature", "speed", "vibration", "mass", "count", "time"]

UNITS: tuple[str, ...] = get_args(Unit)
KINDS: tuple[str, ...] = get_args(Kind)

#: What each unit measures; a percentage measures none of the nine kinds.
KIND_OF_UNIT: dict[str, str | None] = {
    "in": "length", "mm": "length", "um": "length",
    "ft_lb": "torque", "in_lb": "torque", "N_m": "torque",
    "psi": "pressure", "bar": "pressure", "kPa": "pressure",
    "degC": "temperature", "degF": "temperature",
    "rpm": "speed", "mm_s": "vibration", "g": "mass", "count": "count",
    "min": "time", "s": "time", "percent": None,
}  # fmt: skip

#: How a unit is printed for people.
SYMBOLS: dict[str, str] = {
    "in": "in", "mm": "mm", "um": "µm", "ft_lb": "ft·lb", "in_lb": "in·lb", "N_m": "N·m",
    "psi": "psi", "bar": "bar", "kPa": "kPa", "degC": "°C", "degF": "°F", "rpm": "rpm",
    "mm_s": "mm/s", "g": "g", "count": "", "min": "min", "s": "s", "percent": "%",
}  # fmt: skip
#: A value with so many decimals more than the sheet writes came out of a conversion.
_ENDLESS_DECIMALS = 5
_MORE_DECIMALS = 2
_SIGNIFICANT = 5

_PINT_NAMES: dict[str, str] = {
    "in": "inch", "mm": "millimeter", "um": "micrometer",
    "ft_lb": "force_pound * foot", "in_lb": "force_pound * inch", "N_m": "newton * meter",
    "psi": "psi", "bar": "bar", "kPa": "kilopascal", "degC": "degC", "degF": "degF",
    "rpm": "revolutions_per_minute", "mm_s": "millimeter / second", "g": "gram",
    "count": "dimensionless", "min": "minute", "s": "second", "percent": "percent",
}  # fmt: skip

_EXACT_PLACES = 20


@cache
def unit_registry() -> pint.UnitRegistry[Any]:
    """Return the one pint registry, with fractions for numbers so that conversions stay exact."""
    return pint.UnitRegistry(non_int_type=Fraction)


@lru_cache(maxsize=1024)
def _affine(from_unit: str, to_unit: str) -> tuple[Fraction, Fraction]:
    """Return (scale, offset) so that ``to = scale * from + offset``; exact."""
    quantity = unit_registry().Quantity

    def one(value: int) -> Fraction:
        measured = quantity(Fraction(value), _PINT_NAMES[from_unit])
        return Fraction(measured.to(_PINT_NAMES[to_unit]).magnitude)

    offset = one(0)
    return one(1) - offset, offset


def convert(value: Fraction, from_unit: str, to_unit: str) -> Fraction:
    """Convert ``value`` exactly between two units of the closed list.

    Temperatures are points on a scale (230 degF is 110 degC), not differences.

    Raises:
        SettingError: a unit is not on the list, or the two measure different kinds.
    """
    if from_unit == to_unit:
        return value
    for unit in (from_unit, to_unit):
        if unit not in KIND_OF_UNIT:
            raise SettingError(f"unknown unit {unit!r}", expected="one of " + " ".join(UNITS))
    if not same_kind(from_unit, to_unit):
        raise SettingError(
            f"{from_unit} cannot be turned into {to_unit}",
            expected=f"a unit of {KIND_OF_UNIT[to_unit] or to_unit}",
        )
    scale, offset = _affine(from_unit, to_unit)
    return value * scale + offset


def same_kind(first: str, second: str) -> bool:
    """Tell whether two units measure the same kind of thing."""
    return first == second or (
        KIND_OF_UNIT[first] is not None and KIND_OF_UNIT[first] == KIND_OF_UNIT[second]
    )


def decimal_text(value: Fraction) -> str:
    """Print a fraction as a plain decimal: exactly where it ends, else the shortest of the nearest double.

    Either way ``float(decimal_text(v)) == float(v)``. (Seventeen digits of the fraction would not do:
    14/757 rounded to them lies nearer to the neighbouring double.)
    """
    with localcontext() as context:
        context.prec = 60
        exact = Decimal(value.numerator) / Decimal(value.denominator)
        if Fraction(exact) == value and -exact.as_tuple().exponent <= _EXACT_PLACES:  # type: ignore[operator]
            text = format(exact.normalize(), "f")
        else:
            text = format(Decimal(repr(float(value))).normalize(), "f")
    return "0" if text in ("-0", "") else text


def shown_number(exact: str, decimals: int = 0) -> str:
    """Return a number as people are shown it, in at least so many decimals.

    Zeros are added; nothing is rounded but what a conversion left without an end, and that says so by
    "≈" (350 psi is ≈ 24.132 bar). The record keeps every digit.
    """
    number = Decimal(exact)
    own = decimals_of_number(number)
    if own > decimals + _ENDLESS_DECIMALS:
        places = max(decimals + _MORE_DECIMALS, _SIGNIFICANT - 1 - number.adjusted())
        return f"≈ {number:.{places}f}"
    return f"{number:.{max(decimals, own)}f}"


def decimals_of_number(number: Decimal) -> int:
    """Return how many decimals a number is written with."""
    return max(0, -int(number.as_tuple().exponent))
