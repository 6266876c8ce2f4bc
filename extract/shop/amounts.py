"""A number with its unit as it is typed: ``0.018in``, ``5/8 in``, ``70 ft_lb``, ``230degF``.

Exact: values are fractions, pint holds the definitions. What a mechanic and a program may take for two
different things is refused with what to write instead: "mil" (a thousandth of an inch to some, a
millimetre to others), gauge and absolute pressure.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from shared.errors import CalculationOutOfRange, SettingError
from shared.units import convert, unit_registry

#: Unit: what it measures, and its definition for pint.
SHOP_UNITS: dict[str, tuple[str, str]] = {
    "in": ("length", "inch"), "mm": ("length", "millimeter"), "um": ("length", "micrometer"),
    "thou": ("length", "inch / 1000"), "uin": ("length", "inch / 1000000"), "ft": ("length", "foot"),
    "m": ("length", "meter"), "nm": ("length", "nanometer"),
    "lbf": ("force", "force_pound"), "N": ("force", "newton"), "kN": ("force", "kilonewton"),
    "kip": ("force", "1000 * force_pound"),
    "ft_lb": ("torque", "force_pound * foot"), "in_lb": ("torque", "force_pound * inch"),
    "N_m": ("torque", "newton * meter"),
    "psi": ("pressure", "psi"), "bar": ("pressure", "bar"), "kPa": ("pressure", "kilopascal"),
    "MPa": ("pressure", "megapascal"), "ksi": ("pressure", "1000 * psi"),
    "gpm": ("flow", "gallon / minute"), "m3_h": ("flow", "meter ** 3 / hour"),
    "L_min": ("flow", "liter / minute"),
    "degC": ("temperature", "degC"), "degF": ("temperature", "degF"),
    "K": ("temperature difference", "kelvin"), "degF_diff": ("temperature difference", "delta_degF"),
    "oz_in": ("unbalance", "ounce * inch"), "g_mm": ("unbalance", "gram * millimeter"),
    "psi_ft_min": ("pressure times velocity", "psi * foot / minute"),
    "bar_m_s": ("pressure times velocity", "bar * meter / second"),
    "MPa_m_s": ("pressure times velocity", "megapascal * meter / second"),
    "rpm": ("speed", "revolutions_per_minute"),
    "mm_s": ("velocity", "millimeter / second"), "in_s": ("velocity", "inch / second"),
    "g": ("mass", "gram"), "kg": ("mass", "kilogram"), "lb": ("mass", "pound"), "oz": ("mass", "ounce"),
    "L": ("volume", "liter"), "gal": ("volume", "gallon"), "s": ("time", "second"), "min": ("time", "minute"),
    "mm2": ("area", "millimeter ** 2"), "in2": ("area", "inch ** 2"),
    "kW": ("power", "kilowatt"), "hp": ("power", "550 * foot * force_pound / second"),
    "kg_m3": ("density", "kilogram / meter ** 3"),
}  # fmt: skip

#: Other ways to write them, after spaces, dots, dashes and strokes have become underscores.
_ALIASES = {
    '"': "in", "inch": "in", "inches": "in", "thousandths": "thou", "µm": "um", "μm": "um", "micron": "um",
    "microns": "um", "ft_lbf": "ft_lb", "lb_ft": "ft_lb", "lbf_ft": "ft_lb", "ftlb": "ft_lb", "lbft": "ft_lb",
    "in_lbf": "in_lb", "lb_in": "in_lb", "lbf_in": "in_lb", "inlb": "in_lb", "Nm": "N_m",
    "°C": "degC", "°F": "degF", "C": "degC", "F": "degF", "deg_C": "degC", "deg_F": "degF",
    "delta_degF": "degF_diff",
    "m3/h": "m3_h", "m³_h": "m3_h", "l_min": "L_min", "ozin": "oz_in", "gmm": "g_mm", "l": "L", "litre": "L",
    "litres": "L", "minutes": "min", "seconds": "s", "lbs": "lb", "psi_fpm": "psi_ft_min", "µin": "uin",
    "μin": "uin",
    "mm²": "mm2", "in²": "in2", "kg_m³": "kg_m3",
}  # fmt: skip
_REFUSED = {
    "mil": "write thou for 0.001 in, or mm", "mils": "write thou for 0.001 in, or mm",
    "psig": "write psi and keep gauge and absolute apart: they differ by the air pressure of the day",
    "psia": "write psi and keep gauge and absolute apart: they differ by the air pressure of the day",
    "barg": "write bar and keep gauge and absolute apart: they differ by the air pressure of the day",
    "bara": "write bar and keep gauge and absolute apart: they differ by the air pressure of the day",
    "lb": "write lbf for a force, ft_lb or in_lb for a torque",
}  # fmt: skip
#: Exponents of two digits only: Fraction("1e999999999") would fill the memory.
_PLAIN = r"(?:\d{1,30}(?:\.\d{0,30})?|\.\d{1,30})(?:[eE][+-]?\d{1,2})?"
_VULGAR = r"\d{1,9}/\d{1,9}"
_NUMBER = re.compile(
    rf"(?P<sign>[+-]?)\s*(?:(?:(?P<whole>\d{{1,9}})\s+)?(?P<part>{_VULGAR})|(?P<plain>{_PLAIN}))"
)
_LARGEST = Fraction(10**30)
_AMOUNT = re.compile(
    rf"\s*(?P<number>[+-]?\s*(?:(?:\d{{1,9}}\s+)?{_VULGAR}|{_PLAIN}))\s*(?P<unit>[^\d\s.,_+\-/].{{0,30}})?\s*"
)


@dataclass(frozen=True)
class Amount:
    """A number with a unit of ``SHOP_UNITS``."""

    value: Fraction
    unit: str

    def to(self, unit: str) -> Fraction:
        """Return the value in another unit, exactly.

        Raises:
            SettingError: the two measure different things.
        """
        return converted(self.value, self.unit, unit)

    def __str__(self) -> str:
        return f"{float(self.value):.10g} {self.unit}"


def parse_number(text: str) -> Fraction:
    """Read a plain number, a fraction or a whole number with a fraction; smaller than 1e30.

    Raises:
        SettingError: it is none.
    """
    match = _NUMBER.fullmatch(text.strip())
    if match is None:
        return _no_number(text)
    try:
        value = Fraction(match["whole"] or 0) + Fraction(match["part"] or match["plain"])
    except ZeroDivisionError:
        return _no_number(text)
    if value >= _LARGEST:
        return _no_number(text)
    return -value if match["sign"] == "-" else value


def _no_number(text: str) -> Fraction:
    amount = _AMOUNT.fullmatch(text)
    if amount is not None and amount["unit"] in (*SHOP_UNITS, *_ALIASES):
        expected = "the number alone; its unit goes with --unit where there is one"
        raise SettingError(f"{text[:40]!r} has a unit", expected=expected)
    raise SettingError(f"{text[:40]!r} is no number", expected="such as 0.018, 5/8 or 1 1/8")


def parse_amount(text: str, kind: str | None = None) -> Amount:
    """Read a number with its unit.

    Args:
        text: as typed.
        kind: what it has to measure; None allows anything.

    Raises:
        SettingError: no number, no unit, a unit that means two things, or one of another kind.
    """
    match = _AMOUNT.fullmatch(text)
    wanted = units_of(kind) if kind else tuple(SHOP_UNITS)
    if match is None:
        raise SettingError(f"{text!r} is no number with a unit", expected=f"such as 1.5{wanted[0]}")
    if match["unit"] is None:
        raise SettingError(f"{text!r} has no unit", expected="one of " + " ".join(wanted))
    return Amount(parse_number(match["number"]), unit_named(match["unit"], kind))


def unit_named(text: str, kind: str | None = None) -> str:
    """Return the unit that is written so.

    Raises:
        SettingError: unknown, of two meanings, or of another kind.
    """
    written = re.sub(r"[\s·.*/-]+", "_", text.strip()).strip("_")
    unit = written if written in SHOP_UNITS else _ALIASES.get(written, _ALIASES.get(text.strip(), ""))
    if written in _REFUSED and (unit == "" or (kind is not None and SHOP_UNITS[unit][0] != kind)):
        raise SettingError(f"{text!r} can mean two things", expected=_REFUSED[written])
    if unit == "":
        raise SettingError(
            f"unknown unit {text!r}", expected="one of " + " ".join(units_of(kind) if kind else SHOP_UNITS)
        )
    if kind is not None and SHOP_UNITS[unit][0] != kind:
        raise SettingError(f"{text!r} is no {kind}", expected="one of " + " ".join(units_of(kind)))
    return unit


def units_of(kind: str) -> tuple[str, ...]:
    """Return the units that measure a kind."""
    return tuple(unit for unit, (theirs, _) in SHOP_UNITS.items() if theirs == kind)


@cache
def _scale(unit: str) -> Fraction:
    return Fraction(unit_registry().parse_expression(SHOP_UNITS[unit][1]).to_base_units().magnitude)


def converted(value: Fraction, from_unit: str, to_unit: str) -> Fraction:
    """Convert exactly. Temperatures are points on a scale; their differences are K and degF_diff.

    Raises:
        SettingError: the two measure different things.
    """
    kind, other = SHOP_UNITS[from_unit][0], SHOP_UNITS[to_unit][0]
    if kind != other:
        raise SettingError(
            f"{from_unit} ({kind}) cannot be turned into {to_unit} ({other})", expected="one kind"
        )
    if kind == "temperature":
        return convert(value, from_unit, to_unit)
    return value * _scale(from_unit) / _scale(to_unit)


def absolute_temperature_checked(amount: Amount) -> Amount:
    """Return a temperature, refusing one below absolute zero.

    Raises:
        CalculationOutOfRange: below −273.15 °C.
    """
    if amount.to("degC") < Fraction("-273.15"):
        raise CalculationOutOfRange(f"{amount} is below absolute zero", expected="at least -273.15 degC")
    return amount
