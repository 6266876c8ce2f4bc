"""How a mechanic says a number: every common spoken style of a value, for training text.

The styles are common practice, no source. Digits are ASCII words as the speech engines print them;
no hyphens, no figures.
"""

from __future__ import annotations

from decimal import Decimal
from random import Random

UNITS_TO_NINETEEN = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
TENS = ["zero", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
ORDINALS = [
    "zeroth",
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
]

#: Words that a spoken number can be made of; a run of them is one number slot of a line.
NUMBER_WORDS = frozenset(
    [*UNITS_TO_NINETEEN, *TENS[2:], "hundred", "thousand", "oh", "nought", "point", "thou", "thousandths",
     "thousandth", "tenths", "tenth", "hundredths", "hundredth", "half", "quarter", "quarters", "sixteenth",
     "sixteenths", "eighth", "eighths", "double", "triple"]
)  # fmt: skip

_INCH_FRACTIONS = {2: ("half", "halves"), 4: ("quarter", "quarters"), 8: ("eighth", "eighths"),
                   16: ("sixteenth", "sixteenths"), 32: ("thirty second", "thirty seconds"),
                   64: ("sixty fourth", "sixty fourths")}  # fmt: skip
#: Share of decimals said with a comma, as much of the world writes them.
_COMMAS = 0.03
_THOU_WORDS = ("thou", "thou", "thou", "thousandths", "thousandths of an inch", "mils")


def below_hundred(number: int) -> str:
    """Say 0 to 99: ``forty seven``."""
    if number < 20:
        return UNITS_TO_NINETEEN[number]
    tens, ones = divmod(number, 10)
    return TENS[tens] + (f" {UNITS_TO_NINETEEN[ones]}" if ones else "")


def cardinal(number: int, *, with_and: bool = False, with_a: bool = False) -> str:
    """Say a whole number in full: ``one hundred sixty five``, ``a hundred and sixty five``."""
    if number < 100:
        return below_hundred(number)
    for size, name in ((1000, "thousand"), (100, "hundred")):
        if number >= size:
            count, rest = divmod(number, size)
            head = "a" if with_a and count == 1 else cardinal(count, with_and=with_and)
            if not rest:
                return f"{head} {name}"
            joint = " and " if with_and and rest < 100 else " "
            return f"{head} {name}{joint}{cardinal(rest, with_and=with_and)}"
    raise ValueError(number)


def digits_of(text: str, zero: str = "oh") -> str:
    """Say digits one by one: ``018`` is ``oh one eight``."""
    return " ".join(zero if c == "0" else UNITS_TO_NINETEEN[int(c)] for c in text)


def paired(number: int) -> str:
    """Say hundreds without "hundred": 165 ``one sixty five``, 1750 ``seventeen fifty``."""
    head, rest = divmod(number, 100)
    if not head or (not rest and head % 10 == 0):
        return cardinal(number)
    tail = "hundred" if not rest else below_hundred(rest) if rest > 9 else f"oh {UNITS_TO_NINETEEN[rest]}"
    return f"{below_hundred(head) if head < 100 else cardinal(head)} {tail}"


def whole(number: int, rng: Random) -> str:
    """Say a whole number in one of its styles."""
    if number < 100:
        return below_hundred(number)
    roll = rng.random()
    if roll < 0.5 and number < 10000:
        return paired(number)
    if roll < 0.92:
        return cardinal(number, with_and=rng.random() < 0.5, with_a=rng.random() < 0.5)
    return digits_of(str(number))


def _fraction_digits(digits: str, rng: Random) -> str:
    """Say what stands behind the point: digit by digit, or in pairs (``seven fifty``, ``eighteen``)."""
    zero = rng.choice(("oh", "oh", "oh", "zero", "nought"))
    if len(digits) == 2 and digits[0] != "0" and rng.random() < 0.35:
        return below_hundred(int(digits))
    if len(digits) == 3 and digits[0] != "0" and digits[1] != "0" and rng.random() < 0.35:
        return paired(int(digits))
    if len(digits) == 4 and digits[0] != "0" and digits[2] != "0" and rng.random() < 0.3:
        return (
            f"{below_hundred(int(digits[:2])) if digits[0] != '0' else ''} {below_hundred(int(digits[2:]))}"
        )
    return digits_of(digits, zero)


def decimal_words(value: Decimal, rng: Random) -> str:
    """Say a decimal with its point: ``one point seven seven two``, ``point oh one eight``."""
    text = format(value, "f")
    head, _, digits = text.partition(".")
    if not digits:
        return whole(int(head), rng)
    said = _fraction_digits(digits, rng)
    point = "comma" if rng.random() < _COMMAS else "point"
    if head == "0":
        front = rng.choice(("", "", "", "zero ", "nought ", "oh "))
    else:
        front = whole(int(head), rng) + " "
        if len(head) == 1 and len(digits) >= 3 and rng.random() < 0.15:
            return f"{UNITS_TO_NINETEEN[int(head)]} {said}"  # one seven seven two: the point left out
    return f"{front}{point} {said}"


def inch_words(value: Decimal, rng: Random) -> str:
    """Say a length in inches: thou, tenths of a thou, decimals or a fraction."""
    fraction = _as_inch_fraction(value)
    if fraction and rng.random() < 0.5:
        return fraction
    if value < 1 and rng.random() < 0.6:
        return _thou_words(value * 1000, rng)
    words = decimal_words(value, rng)
    if rng.random() < 0.25:
        words += rng.choice((" inch", " inches", " of an inch"))
    return words


def _thou_words(thou: Decimal, rng: Random) -> str:
    count, rest = int(thou), thou - int(thou)
    name = rng.choice(_THOU_WORDS)
    if rest == 0:
        return f"{whole(count, rng)} {name}"
    if rest == Decimal("0.5") and rng.random() < 0.7:
        return _half_thou(count, rng)
    tenths = rest * 10
    if count == 0:
        return f"{below_hundred(int(tenths))} {'tenth' if tenths == 1 else 'tenths'}"
    roll = rng.random()
    if roll < 0.4 and tenths == int(tenths):
        return f"{whole(count, rng)} thou {below_hundred(int(tenths))} tenths"
    if roll < 0.6 and count < 10 and tenths == int(tenths):
        return f"{below_hundred(int(thou * 10))} tenths"
    return f"{decimal_words(thou.normalize(), rng)} {name}"


def _half_thou(count: int, rng: Random) -> str:
    if count == 0:
        return rng.choice(("half a thou", "half thou", "a half thou", "five tenths"))
    if count == 1 and rng.random() < 0.5:
        return rng.choice(("a thou and a half", "thou and a half", "one thou and a half"))
    return rng.choice((f"{whole(count, rng)} and a half thou", f"{whole(count, rng)} thou and a half"))


def _as_inch_fraction(value: Decimal) -> str | None:
    head, rest = int(value), value - int(value)
    if rest == 0:
        return None
    for denominator, (one, many) in _INCH_FRACTIONS.items():
        # A sheet prints fractions rounded to thousandths: 1.062 is an inch and a sixteenth.
        numerator = round(rest * denominator)
        if 0 < numerator < denominator and abs(Decimal(numerator) / denominator - rest) <= Decimal("0.0006"):
            part = f"a {one}" if numerator == 1 else f"{below_hundred(numerator)} {many}"
            return f"{below_hundred(head)} and {part}" if head else part
    return None


def millimetre_words(value: Decimal, rng: Random) -> str:
    """Say a length in millimetres; small ones also in hundredths or microns."""
    hundredths = value * 100
    roll = rng.random()
    if value < 1 and hundredths == int(hundredths) and hundredths > 1:
        if roll < 0.12:
            return f"{below_hundred(int(hundredths))} hundredths"
        if roll < 0.2:
            return f"{whole(int(value * 1000), rng)} microns"
    halves = value * 2
    if value > 1 and value < 100 and halves == int(halves) and halves % 2 and roll < 0.4:
        return f"{below_hundred(int(value))} and a half"
    return decimal_words(value, rng)


def number_words(value: Decimal, unit: str, rng: Random) -> str:
    """Say ``value`` (in ``unit`` of the closed list) in one of its styles, without the unit's name.

    Inch lengths carry ``thou``, ``tenths`` or a fraction where the style has it.
    """
    if value < 0:
        return f"minus {number_words(-value, unit, rng)}"
    if unit == "in":
        return inch_words(value, rng)
    if unit == "mm":
        return millimetre_words(value, rng)
    if value == int(value):
        return whole(int(value), rng)
    halves = value * 2
    if halves == int(halves) and value < 100 and rng.random() < 0.35:
        return f"{below_hundred(int(value))} and a half" if value > 1 else "a half"
    return decimal_words(value.normalize(), rng)
