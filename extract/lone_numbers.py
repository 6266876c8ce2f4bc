"""Whether a number without a unit stands for an amount, or is a pronoun, a quantifier, a verb.

"one" is mostly a pronoun, "half" a piece, "all five" everybody, "zero it" an order.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from extract.number_words import ARTICLES
from extract.numbers import NumberReading, is_number_word
from extract.tokens import Token

_VALUE_BEFORE: Final = frozenset(
    "is 's was are at reads read reading to say says plus minus than called over under by than got gets get = : "
    "shows showing came comes gave gives made it's about around still now and face rim angular parallel offset "
    "bottom top middle inboard outboard end seal front back left right or = count".split()
)
_NOT_ONE_AFTER: Final = frozenset(
    "of that who more again at with is 's has in for on thing there here please o' bit end side way which and "
    "out done each by another too going i'd i we you they it 'll 'd 've if as".split()
)
_DETERMINERS: Final = frozenset(
    "all the those these other last first next any both which you us my our your his their them every them two's "
    "another".split()
)
_ZERO_OBJECTS: Final = frozenset("it the that them your my this".split())
_HALF_BEFORE: Final = frozenset(
    "is 's was at reads read plus minus by to say says than over under called got get bottom top middle end "
    "seal inboard outboard runout float play reading about maybe just and".split()
)
_ODD_PARTS: Final = frozenset({3, 5, 6, 7, 9})
_LARGEST_QUANTIFIER: Final = 12


def stands_alone(tokens: Sequence[Token], i: int, reading: NumberReading, eaten: frozenset[int]) -> bool:
    """Tell whether a number that starts at ``i`` may be an amount without a unit."""
    word = tokens[i].norm
    before = tokens[i - 1].norm if i else ""
    after = tokens[reading.end].norm if reading.end < len(tokens) else ""
    single = reading.end == i + 1
    if word in ("oh", "o", "ought", "aught", "nil") and single:
        return False
    if word == "one" and single:
        return _one_is_value(tokens, i, before, after)
    if single and word in ("zero", "nought", "naught"):
        return after not in _ZERO_OBJECTS
    if reading.style == "fraction" and not word[0].isdecimal():
        return _part_is_value(reading.value, word, before, after)
    if (
        before in _DETERMINERS
        and 1 <= reading.value <= _LARGEST_QUANTIFIER
        and reading.value.denominator == 1
    ):
        return False
    return not _counting_aloud(reading)


def _one_is_value(tokens: Sequence[Token], i: int, before: str, after: str) -> bool:
    if before in _VALUE_BEFORE and before not in ("and", "is", "'s", "was"):
        return after not in _NOT_ONE_AFTER or after in ("and",)
    if before in ("is", "'s", "was", "and"):
        ends = not after or after in (",", ".", ";", "and", "face", "rim", "so", "or", "then", "which")
        return ends and not (i >= 2 and tokens[i - 2].norm in ("that", "this", "there", "it", "here"))
    return bool(i and before == "," and i >= 2 and is_number_word(tokens[i - 2]))


def _part_is_value(value: Fraction, word: str, before: str, after: str) -> bool:
    if value.denominator in _ODD_PARTS:
        return False
    if value == Fraction(1, 2):
        whole = word in (*ARTICLES, "half")
        return not whole or (
            before in _HALF_BEFORE and after not in ("of", "the", "way", "full", "empty", "a", "an", "inch")
        )
    if word in ("quarter", "eighth", "sixteenth"):
        return False
    return after not in ("turn", "turns", "of", "past", "way", "bottle", "bag", "tin", "can") or after == "of"


def _counting_aloud(reading: NumberReading) -> bool:
    """Tell "one two three" from a number: digits in order from one on."""
    digits = reading.digits
    return reading.style == "digit_run" and len(digits) >= 2 and "123456789".startswith(digits)


_NO_PLURALS: Final = frozenset(
    "is was this its it's across plus minus less pass yes always us has goes does says reads gives sits feels looks "
    "clicks holds was's guess perhaps towards afterwards runs comes gets shows as makes moves drops stands thanks "
    "inches bolts' seems wants needs means puts misses dials works takes turns downstairs upwards besides thus "
    "loss press class mass cross boss sometimes".split()
)
_AFTER_QUANTIFIER: Final = frozenset({"of"})


def counts_things(tokens: Sequence[Token], end: int) -> bool:
    """Tell whether a number that ends at ``end`` counts things: "three shims", "two of the bolts"."""
    if end >= len(tokens):
        return False
    word = tokens[end].norm
    if word in _AFTER_QUANTIFIER:
        return True
    if end + 1 < len(tokens) and not _is_plural(word) and word.isalpha() and _is_plural(tokens[end + 1].norm):
        return word not in (
            "on",
            "and",
            "to",
            "in",
            "at",
            "for",
            "with",
            "the",
            "or",
            "a",
            "but",
            "then",
            "then",
            "thou",
        )
    return _is_plural(word)


def _is_plural(word: str) -> bool:
    return len(word) > 3 and word[-1] == "s" and word.isalpha() and word not in _NO_PLURALS
