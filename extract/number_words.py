"""The words that numbers are made of."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

ZEROS: Final = frozenset({"zero", "oh", "o", "nought", "naught", "nil", "aught", "ought"})
ONES: Final = {
    "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
    "niner": 9,
}  # fmt: skip
TEENS: Final = {
    "ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15,
    "sixteen": 16, "seventeen": 17, "eighteen": 18, "nineteen": 19,
}  # fmt: skip
TENS: Final = {
    "twenty": 20, "thirty": 30, "forty": 40, "fourty": 40, "fifty": 50, "sixty": 60, "seventy": 70,
    "eighty": 80, "ninety": 90,
}  # fmt: skip
POWERS: Final = {"thousand": 1000, "million": 1_000_000}
POINTS: Final = frozenset({"point", "decimal", "dot", "comma"})
SIGN_WORDS: Final = {"minus": -1, "negative": -1, "plus": 1, "positive": 1}
REPEATS: Final = {"double": 2, "triple": 3, "treble": 3}
ARTICLES: Final = frozenset({"a", "an"})

#: Denominators by their one-word names, (denominator, whether the name is a plural).
DENOMINATORS: Final[dict[str, tuple[int, bool]]] = {
    "half": (2, False), "halves": (2, True),
    "quarter": (4, False), "quarters": (4, True), "fourth": (4, False), "fourths": (4, True),
    "third": (3, False), "thirds": (3, True), "fifth": (5, False), "fifths": (5, True),
    "sixth": (6, False), "sixths": (6, True), "eighth": (8, False), "eighths": (8, True),
    "eights": (8, True), "sixteenth": (16, False), "sixteenths": (16, True), "sixteens": (16, True),
    "tenth": (10, False), "tenths": (10, True),
    "hundredth": (100, False), "hundredths": (100, True),
    "thousandth": (1000, False), "thousandths": (1000, True),
}  # fmt: skip
#: Denominators of two words; "second" alone is a time or a place in a row, never a part.
COMPOUND_DENOMINATORS: Final[dict[tuple[str, str], tuple[int, bool]]] = {
    ("thirty", "second"): (32, False), ("thirty", "seconds"): (32, True),
    ("sixty", "fourth"): (64, False), ("sixty", "fourths"): (64, True),
    ("ten", "thousandth"): (10_000, False), ("ten", "thousandths"): (10_000, True),
    ("hundred", "thousandth"): (100_000, False), ("hundred", "thousandths"): (100_000, True),
    ("thousand", "thousandths"): (1000, True),
}  # fmt: skip
#: Decimal denominators: what the shop calls them, for the unit that they imply.
DECIMAL_SCALES: Final = {10: "tenths", 100: "hundredths", 1000: "thousandths", 10_000: "ten_thousandths"}

ORDINALS: Final = {
    "first": 1, "second": 2, "third": 3, "fourth": 4, "fifth": 5, "sixth": 6, "seventh": 7,
    "eighth": 8, "ninth": 9, "tenth": 10, "eleventh": 11, "twelfth": 12, "thirteenth": 13,
    "fourteenth": 14, "fifteenth": 15, "sixteenth": 16, "seventeenth": 17, "eighteenth": 18,
    "nineteenth": 19, "twentieth": 20, "thirtieth": 30, "fortieth": 40, "fiftieth": 50,
    "hundredth": 100,
}  # fmt: skip

VULGAR_VALUES: Final = {
    "¼": Fraction(1, 4), "½": Fraction(1, 2), "¾": Fraction(3, 4), "⅐": Fraction(1, 7),
    "⅑": Fraction(1, 9), "⅒": Fraction(1, 10), "⅓": Fraction(1, 3), "⅔": Fraction(2, 3),
    "⅕": Fraction(1, 5), "⅖": Fraction(2, 5), "⅗": Fraction(3, 5), "⅘": Fraction(4, 5),
    "⅙": Fraction(1, 6), "⅚": Fraction(5, 6), "⅛": Fraction(1, 8), "⅜": Fraction(3, 8),
    "⅝": Fraction(5, 8), "⅞": Fraction(7, 8),
}  # fmt: skip

#: Words for a number that nobody counted, with the words that may follow ("a couple of").
VAGUE: Final = frozenset({"couple", "few", "several", "handful"})

#: Every word that can stand inside a spoken number and nowhere outside one.
NUMBER_WORDS: Final = frozenset(
    {*(ZEROS - {"o", "oh", "ought"}), *ONES, *TEENS, *TENS, *POWERS, "hundred", "point"}
)
