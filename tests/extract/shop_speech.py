"""Say or print an amount with its unit as a bench does: the other way round from the reader.

Each style takes a value in its unit and returns the phrase, or None for a value nobody would say so.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from tests.extract import speaking

Style = Callable[[Fraction], str | None]


class Way(NamedTuple):
    """One way to say an amount."""

    name: str
    unit: str | None
    """Unit that it comes out in; None where none is said."""
    say: Style


def _whole(value: Fraction, least: int = 0, most: int = 10**6) -> int | None:
    return int(value) if value.denominator == 1 and least <= value <= most else None


def _plural(value: Fraction, one: str, many: str) -> str:
    return one if value == 1 else many


def _number(value: Fraction) -> str | None:
    """A number in everyday words: whole, with a half or quarter, else with its decimals."""
    if value.denominator == 1:
        return speaking.british(value)
    if value.denominator in (2, 4):
        return speaking.mixed(value)
    return speaking.decimal_by_digits(value, "oh", "nought")


def thou(value: Fraction) -> str | None:
    scaled = value * 1000
    words = _number(scaled) if 0 < scaled < 1000 else None
    if scaled in (Fraction(1, 2), Fraction(1, 4)):
        return f"{'half' if scaled == Fraction(1, 2) else 'quarter of'} a thou"
    if scaled == Fraction(3, 4):
        return "three quarters of a thou"
    return words and f"{words} thou"


def thousandths(value: Fraction) -> str | None:
    return speaking.thousandths(value)


def thousandths_of_an_inch(value: Fraction) -> str | None:
    words = speaking.thousandths(value)
    return words and f"{words} of an inch"


def thou_and_a_half(value: Fraction) -> str | None:
    """Two and a half thou as "two thou and a half"."""
    whole, part = divmod(value * 1000, 1)
    if part != Fraction(1, 2) or not 1 <= whole < 100:
        return None
    return f"{'a' if whole == 1 else speaking.below_100(int(whole))} thou and a half"


def tenths(value: Fraction) -> str | None:
    scaled = value * 10_000
    words = _number(scaled) if 1 < scaled <= 20 and scaled.denominator <= 2 else None
    return words and f"{words} tenths"


def tenths_of_a_thou(value: Fraction) -> str | None:
    words = tenths(value)
    return words and f"{words} of a thou"


def digits_run_off(value: Fraction) -> str | None:
    """0.031 as "oh three one", without its point."""
    text = speaking.decimal_text(value)
    if text is None or not 0 < value < Fraction(1, 10) or len(text) != 5:
        return None
    return speaking.digits(text[2:], "oh")


def size_run_off(value: Fraction) -> str | None:
    """1.8745 as "one eight seven four five inches"."""
    scaled = value * 10_000
    if scaled.denominator != 1 or not 10_000 < scaled < 100_000:
        return None
    return f"{speaking.digits(str(int(scaled)), 'oh')} inches"


def point_inches(value: Fraction) -> str | None:
    words = speaking.decimal_without_zero(value)
    return words and f"{words} inches"


def zero_point_inches(value: Fraction) -> str | None:
    words = speaking.decimal_by_digits(value)
    return words and f"{words} inches"


def nought_point_millimetres(value: Fraction) -> str | None:
    words = speaking.decimal_nought(value)
    return words and f"{words} millimetres"


def comma_millimetres(value: Fraction) -> str | None:
    words = speaking.decimal_by_digits(value)
    return words and f"{words.replace('point', 'comma')} millimetres"


def point_mil(value: Fraction) -> str | None:
    words = speaking.decimal_by_digits(value, "oh", "point")
    return words and f"{words.replace('point point', 'point')} mil"


def fraction_of_an_inch(value: Fraction) -> str | None:
    words = speaking.mixed(value) if value < 1 else None
    return words and f"{words} of an inch"


def mixed_inches(value: Fraction) -> str | None:
    words = speaking.mixed(value) if value > 1 else None
    return words and f"{words} inches"


def inches_and_a_part(value: Fraction) -> str | None:
    whole, part = divmod(value, 1)
    words = speaking.mixed(part) if part else None
    if not words or not 1 <= whole <= 24:
        return None
    return f"{speaking.below_100(int(whole))} {_plural(whole, 'inch', 'inches')} and {words}"


def inches_and_thou(value: Fraction) -> str | None:
    whole, part = divmod(value, 1)
    scaled = part * 1000
    if scaled.denominator != 1 or not 1 <= whole <= 24 or scaled < 2:
        return None
    inches = f"{speaking.below_100(int(whole))} {_plural(whole, 'inch', 'inches')}"
    return f"{inches} {speaking.cardinal(int(scaled), ' and ')} thou"


def microns(value: Fraction) -> str | None:
    words = _number(value) if 1 < value < 1000 else None
    return words and f"{words} microns"


def hundred_less(unit: str) -> Style:
    def say(value: Fraction) -> str | None:
        words = speaking.hundreds_run_on(value)
        return words and f"{words} {unit}"

    return say


def everyday(unit: str, least: int = 2, most: int = 5000) -> Style:
    def say(value: Fraction) -> str | None:
        words = _number(value) if least <= value <= most and value.denominator <= 10 else None
        return words and f"{words} {unit}"

    return say


def speed_in_pairs(value: Fraction) -> str | None:
    words = speaking.pairs_run_on(value)
    return words and f"{words} r p m"


def signed(word: str, sign: int) -> Style:
    def say(value: Fraction) -> str | None:
        words = thou(abs(value)) if value * sign > 0 else None
        return words and f"{word} {words}"

    return say


def printed(form: str, style: Style = speaking.print_plain) -> Style:
    """A printed number put into a form with its unit."""

    def say(value: Fraction) -> str | None:
        text = style(value)
        return text and form.format(text)

    return say


def print_thou(value: Fraction) -> str | None:
    scaled = value * 1000
    text = speaking.print_plain(scaled) if 0 < scaled < 1000 and scaled.denominator in (1, 2, 4, 10) else None
    return text and f"{text} thou"


def print_signed_thou(value: Fraction) -> str | None:
    text = print_thou(abs(value)) if value < 0 else None
    return text and f"-{text}"


def print_comma(value: Fraction) -> str | None:
    text = speaking.decimal_text(value) if value.denominator != 1 else None
    if text is None or (len(text.split(".")[1]) == 3 and not text.startswith("0.")):
        # "12,500" may be so many thousands: nobody can tell.
        return None
    return f"{text.replace('.', ',')} mm"


def print_digits(value: Fraction) -> str | None:
    text = speaking.decimal_text(value)
    return text[2:] if text is not None and 0 < value < Fraction(1, 10) and len(text) == 5 else None


#: Ways for lengths in inches above and below zero, for lengths in millimetres, and for the rest.
INCH_WAYS = (
    Way("thou", "in", thou), Way("thousandths", "in", thousandths),
    Way("thousandths of an inch", "in", thousandths_of_an_inch),
    Way("thou and a half", "in", thou_and_a_half),
    Way("tenths", "in", tenths), Way("tenths of a thou", "in", tenths_of_a_thou),
    Way("digits", None, digits_run_off), Way("size run off", "in", size_run_off),
    Way("point", None, speaking.decimal_without_zero), Way("point inches", "in", point_inches),
    Way("zero point inches", "in", zero_point_inches), Way("fraction", "in", fraction_of_an_inch),
    Way("mixed", "in", mixed_inches), Way("inches and a part", "in", inches_and_a_part),
    Way("inches and thou", "in", inches_and_thou), Way("plus thou", "in", signed("plus", 1)),
    Way('0.031"', "in", printed('{}"')), Way(".031 in", "in", printed("{} in", speaking.print_bare_point)),
    Way(".031 inches", "in", printed("{} inches", speaking.print_bare_point)),
    Way(".031", None, speaking.print_bare_point), Way("031", None, print_digits),
    Way("31 thou", "in", print_thou),
    Way("30,000ths", "in", speaking.print_thousandths),
    Way("1 1/4 in", "in", printed("{} in", speaking.print_mixed)),
    Way('1 1/4"', "in", printed('{}"', speaking.print_mixed)),
    Way('1-1/4"', "in", printed('{}"', speaking.print_hyphened)),
    Way("1-1/4 inches", "in", printed("{} inches", speaking.print_hyphened)),
    Way('1¼"', "in", printed('{}"', speaking.print_vulgar)),
)  # fmt: skip
BELOW_ZERO_WAYS = (
    Way("minus thou", "in", signed("minus", -1)), Way("negative thou", "in", signed("negative", -1)),
    Way("-31 thou", "in", print_signed_thou),
)  # fmt: skip
METRIC_WAYS = (
    Way("nought point", "mm", nought_point_millimetres), Way("comma", "mm", comma_millimetres),
    Way("mil", "mm", point_mil), Way("12.5 mm", "mm", printed("{} mm")), Way("12.5mm", "mm", printed("{}mm")),
    Way("12,5 mm", "mm", print_comma),
)  # fmt: skip
OTHER_WAYS = (
    Way("microns", "um", microns), Way("45 µm", "um", printed("{} µm")), Way("45um", "um", printed("{}um")),
    Way("foot pounds run on", "ft_lb", hundred_less("foot pounds")),
    Way("newton metres run on", "N_m", hundred_less("newton metres")),
    Way("psi run on", "psi", hundred_less("p s i")), Way("bar", "bar", everyday("bar", 2, 400)),
    Way("foot pounds", "ft_lb", everyday("foot pounds", 5, 2000)),
    Way("inch pounds", "in_lb", everyday("inch pounds", 5, 2000)),
    Way("kilopascals", "kPa", everyday("kilopascals", 2, 5000)),
    Way("celsius", "degC", everyday("degrees celsius", 2, 300)), Way("rpm", "rpm", speed_in_pairs),
    Way("155 ft-lbs", "ft_lb", printed("{} ft-lbs")), Way("155 Nm", "N_m", printed("{} Nm")),
    Way("1,750 rpm", "rpm", printed("{} rpm", speaking.print_grouped)),
    Way("110°C", "degC", printed("{}°C")), Way("4.5 mm/s", "mm_s", printed("{} mm/s")),
)  # fmt: skip
