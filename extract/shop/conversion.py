"""Unit conversion, exact, with the traps of the shop said aloud."""

from __future__ import annotations

from extract.shop.amounts import SHOP_UNITS, Amount, absolute_temperature_checked, unit_named
from extract.shop.method import Figure, Method, Source, Worked
from shared.units import decimal_text

METHOD = Method(
    name="convert",
    title="Unit conversion",
    formula="exact factors; 1 in = 25.4 mm, 1 lbf = 0.45359237 x 9.80665 N, 1 gal = 231 in^3, degF = 1.8 "
    "degC + 32",
    valid="units of one kind; temperatures down to absolute zero",
    sources=(Source("NIST SP 811, appendix B; definitions through pint", "C"),),
)
_TRAPS = {
    "temperature": "a point on the scale; a temperature difference has no 32 degree offset (use K and "
    "degF_diff)",
    "temperature difference": "a difference; a temperature itself has the 32 degree offset (use degC and "
    "degF)",
    "pressure": "gauge stays gauge and absolute stays absolute: they differ by the air pressure of the day",
    "torque": "ft_lb and in_lb differ by twelve",
}


def convert_amount(amount: Amount, to: str) -> Worked:
    """Convert.

    Args:
        to: unit, as written.

    Raises:
        SettingError: an unknown unit, or one that measures something else.
        CalculationOutOfRange: a temperature below absolute zero.

    Source: METHOD.
    """
    unit = unit_named(to)
    kind = SHOP_UNITS[amount.unit][0]
    value = amount.to(unit)
    if kind == "temperature":
        absolute_temperature_checked(amount)
    figures = (
        Figure("given", float(amount.value), amount.unit),
        Figure("result", float(value), unit),
        Figure("result_exact", decimal_text(value) if _ends(value.denominator) else None, unit),
    )
    return Worked(METHOD, figures, (_TRAPS[kind],) if kind in _TRAPS else ())


def _ends(denominator: int) -> bool:
    """Whether a fraction with this denominator is a decimal that ends."""
    for prime in (2, 5):
        while denominator % prime == 0:
            denominator //= prime
    return denominator == 1
