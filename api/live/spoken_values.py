"""Values as a mechanic says them: "thirty one", "one and a half thou", "seventy foot pounds"."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

from shared.job_sheet import JobSheet
from shared.units import KIND_OF_UNIT, SYMBOLS, decimal_text

_SMALL = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("", "", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
#: Below it a length in inches is said in thou, as common practice has it; no source.
_THOU_BELOW = Fraction(1, 4)
#: What SYMBOLS prints and nobody says.
_SAID_UNITS = {
    "in": "inches", "mm": "millimetres", "um": "microns", "ft_lb": "foot pounds", "in_lb": "inch pounds",
    "N_m": "newton metres", "psi": "p s i", "bar": "bar", "kPa": "kilopascals", "degC": "degrees celsius",
    "degF": "degrees fahrenheit", "rpm": "r p m", "mm_s": "millimetres per second", "g": "grams", "count": "",
    "min": "minutes", "s": "seconds", "percent": "percent",
}  # fmt: skip


def said_value(sheet: JobSheet, exact: str, unit: str) -> str:
    """Return a value in words, with its unit only where it could be mistaken.

    Args:
        sheet: which units its items of one kind have: foot pounds beside inch pounds are always said.
        exact: the value, decimal.
        unit: its unit, of the closed list.
    """
    value = Fraction(exact)
    if unit == "in" and abs(value) < _THOU_BELOW:
        return _thou(value * 1000)
    words = said_number(Decimal(exact))
    kind = KIND_OF_UNIT.get(unit)
    bare = kind in ("length", "count") and _only_unit(sheet, kind) == unit
    return words if bare else f"{words} {_SAID_UNITS.get(unit, SYMBOLS.get(unit, unit))}".rstrip()


def said_number(number: Decimal) -> str:
    """Return a number in words, decimals one by one: ``one point oh six two``."""
    sign = "minus " if number < 0 else ""
    whole, _, places = f"{abs(number):f}".partition(".")
    places = places.rstrip("0")
    if not places:
        return sign + _whole(int(whole))
    digits = " ".join("oh" if digit == "0" else _SMALL[int(digit)] for digit in places)
    before = "" if int(whole) == 0 else f"{_whole(int(whole))} "
    return f"{sign}{before}point {digits}"


def _thou(thou: Fraction) -> str:
    """Return thousandths of an inch: a whole number of them needs no unit, a part of one does."""
    if thou.denominator == 1:
        return said_number(Decimal(thou.numerator))
    whole, rest = divmod(abs(thou), 1)
    sign = "minus " if thou < 0 else ""
    if rest == Fraction(1, 2):
        return f"{sign}{_whole(int(whole))} and a half thou" if whole else f"{sign}half a thou"
    return f"{said_number(Decimal(decimal_text(thou)))} thou"


def _only_unit(sheet: JobSheet, kind: str | None) -> str | None:
    units = {item.unit for item in sheet.measured.values() if item.measured_kind == kind}
    return units.pop() if len(units) == 1 else None


def _whole(number: int) -> str:
    if number < 20:
        return _SMALL[number]
    if number < 100:
        tens, ones = divmod(number, 10)
        return _TENS[tens] + (f" {_SMALL[ones]}" if ones else "")
    for size, name in ((1_000_000, "million"), (1000, "thousand"), (100, "hundred")):
        if number >= size:
            many, rest = divmod(number, size)
            return f"{_whole(many)} {name}" + (f" {_whole(rest)}" if rest else "")
    raise AssertionError(number)
