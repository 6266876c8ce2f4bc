"""Numbers in figures, as large speech models print them, with their usual misprints."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from extract.number_words import VULGAR_VALUES
from extract.tokens import Token

#: Longer figures are part numbers or noise; they are stepped over, never read.
MAX_FIGURES = 24
#: So many decimals has a size in inches.
_SIZE_FIGURES = 4
#: Parts of an inch whose printed names tell them from an ordinal in a range ("1-4th").
_NAMED_PARTS = frozenset({8, 16, 32, 64})
_WHOLE_INCH_PARTS = frozenset({2, 4, 8, 16, 32, 64})


class Printed(NamedTuple):
    """A number in figures."""

    value: Fraction
    end: int
    cost: float
    style: str
    scale: str = "plain"
    digits: str = ""
    places: int = 0


def _figures(text: str) -> str:
    """Return ASCII digits for any script's decimal digits."""
    return text if text.isascii() else "".join(str(int(c)) for c in text)


def _adjacent(tokens: Sequence[Token], i: int) -> bool:
    """Tell whether token ``i`` follows the one before it without a gap."""
    return i < len(tokens) and tokens[i].start == tokens[i - 1].end


def literal_at(tokens: Sequence[Token], i: int) -> list[Printed]:
    """Read the single token at ``i`` as figures: whole, decimal, grouped, "30,000ths", "½"."""
    text = tokens[i].text
    first = text[0]
    if first in VULGAR_VALUES:
        return [Printed(VULGAR_VALUES[first], i + 1, 0.0, "fraction")]
    if len(text) > MAX_FIGURES or not (first.isdecimal() or (first == "." and len(text) > 1)):
        return []
    if text[-1].isalpha():
        return _suffixed(tokens[i].norm, i)
    if "," in text:
        return _grouped(text, i)
    if "." in text:
        whole, _, part = text.partition(".")
        digits = _figures(whole + part)
        return [Printed(_scaled(digits, len(part)), i + 1, 0.0, "decimal", "plain", digits, len(part))]
    digits = _figures(text)
    style = "digit_run" if len(digits) > 1 and digits[0] == "0" else "cardinal"
    return [Printed(Fraction(int(digits)), i + 1, 0.0, style, "plain", digits if len(digits) > 1 else "")]


def _scaled(digits: str, places: int) -> Fraction:
    return Fraction(int(digits or "0"), 10**places)


def _suffixed(norm: str, i: int) -> list[Printed]:
    stem = norm.rstrip("stndrh").replace(",", "")
    if not stem.isdecimal():
        return []
    number = int(stem)
    if norm.endswith("ths") or (norm.endswith("th") and number >= 1000):
        # "30,000ths": the model wrote "thirty thousandths" as figures with a suffix.
        for scale, name in ((1000, "thousandths"),):
            if number >= scale and number % scale == 0:
                return [Printed(Fraction(number // scale, scale), i + 1, 0.1, "thousandths", name)]
        if number > 100:
            return []
    if norm.endswith("s"):
        return []
    return [Printed(Fraction(number), i + 1, 0.0, "ordinal")]


def _grouped(text: str, i: int) -> list[Printed]:
    whole, _, part = text.partition(".")
    groups = whole.split(",")
    digits = _figures("".join(groups))
    if groups[0].startswith("0"):
        # A leading zero before a comma: the comma is a decimal comma.
        return [Printed(_scaled(digits, len(digits) - len(groups[0])), i + 1, 0.3, "decimal", "plain",
                        digits, len(digits) - len(groups[0]))]  # fmt: skip
    value = _scaled(digits + _figures(part), len(part))
    found = [Printed(value, i + 1, 0.0, "cardinal", "plain", "", len(part))]
    if not part and len(groups) == 2:
        if groups[1] == "000":
            found.append(Printed(Fraction(int(groups[0]), 1000), i + 1, 2.5, "misprint", "thousandths"))
        else:
            # "12,500" may have a decimal comma as well.
            found.append(Printed(_scaled(digits, 3), i + 1, 2.5, "misprint", "plain", digits, 3))
    return found


def fraction_at(tokens: Sequence[Token], i: int) -> list[Printed]:
    """Read figures over figures at ``i``: "3/8", "7/32nds", "15/32", and "7/30 seconds" misprinted."""
    if i + 2 >= len(tokens) or not _adjacent(tokens, i + 1):
        return []
    if tokens[i + 1].norm == "-":
        return _hyphened(tokens, i)
    if tokens[i + 1].norm != "/":
        return []
    top, below = tokens[i].text, tokens[i + 2].norm
    if not _adjacent(tokens, i + 2) or not top.isdecimal() or len(top) > 6 or len(below) > 8:
        return []
    figures = below.rstrip("stndrh").replace(",", "")
    if not figures.isdecimal() or int(figures) == 0:
        return []
    number, parts = int(top), int(figures)
    following = tokens[i + 3].norm if i + 3 < len(tokens) else ""
    repaired = {(30, "second"): 32, (30, "seconds"): 32, (60, "fourth"): 64, (60, "fourths"): 64}
    if (parts, following) in repaired and figures == below:
        return [Printed(Fraction(number, repaired[parts, following]), i + 4, 0.8, "fraction")]
    cost = 0.0 if parts in _WHOLE_INCH_PARTS or figures != below else 0.8
    scale = "thousandths" if parts == 1000 else "plain"
    return [Printed(Fraction(number, parts), i + 3, cost, "fraction", scale)]


def _hyphened(tokens: Sequence[Token], i: int) -> list[Printed]:
    """Read "3-16ths", as recognisers print "three sixteenths"; "3-16" without its ending stays open."""
    top, below = tokens[i].text, tokens[i + 2].norm
    figures = below.rstrip("stndrh")
    if not _adjacent(tokens, i + 2) or not (top.isdecimal() and figures.isdecimal()) or figures == below:
        return []
    if (
        len(top) > 2
        or len(figures) > 2
        or int(figures) not in _NAMED_PARTS
        or not 0 < int(top) < int(figures)
    ):
        return []
    return [Printed(Fraction(int(top), int(figures)), i + 3, 0.0, "fraction")]


def mixed_at(tokens: Sequence[Token], i: int) -> list[Printed]:
    """Read a whole number and a fraction in figures at ``i``: "1 3/8", "1-7/8", "30½"."""
    text = tokens[i].text
    if not text.isdecimal() or len(text) > 6 or i + 1 >= len(tokens):
        return []
    following = tokens[i + 1].norm
    if following in VULGAR_VALUES:
        return [Printed(int(text) + VULGAR_VALUES[following], i + 2, 0.0, "mixed")]
    hyphen = following == "-" and _adjacent(tokens, i + 1) and _adjacent(tokens, i + 2)
    at = i + 2 if hyphen else i + 1
    if at >= len(tokens) or not tokens[at].text[0].isdecimal():
        return []
    return [
        Printed(int(text) + part.value, part.end, part.cost + (0.0 if hyphen else 0.1), "mixed", part.scale)
        for part in fraction_at(tokens, at)
        if part.value < 1
    ]


def split_decimal_at(tokens: Sequence[Token], i: int) -> list[Printed]:
    """Read a decimal that was printed in two pieces: "0.0 31", "1 .3745", "1. 3745"."""
    text = tokens[i].text
    if i + 1 >= len(tokens) or len(text) > 8 or not text[-1].isdecimal():
        return []
    second = tokens[i + 1].text
    if "." in text and second.isdecimal() and len(second) <= 4 and text.rstrip("0").endswith("."):
        whole, _, part = text.partition(".")
        return [_joined(whole, part + second, i + 2, 0.5)]
    if not text.isdecimal():
        return []
    if second[0] == "." and second[1:].isdecimal() and len(second) <= 8:
        return [_joined(text, second[1:], i + 2, 0.6)]
    if len(text) == 1 and _is_rest_of_size(tokens, i + 1):
        # "1 9688" was said digit by digit.
        return [_joined(text, second, i + 2, 1.2)]
    if second == "." and i + 2 < len(tokens) and _adjacent(tokens, i + 1):
        third = tokens[i + 2].text
        # Only before inches: "Vane count 5. 1750 rpm" is two sentences.
        inches = i + 3 < len(tokens) and tokens[i + 3].norm in ("inch", "inches", '"', "in")
        if third.isdecimal() and 3 <= len(third) <= 5 and inches:
            return [_joined(text, third, i + 3, 0.5)]
        if len(text) == 1 and _is_rest_of_size(tokens, i + 2):
            return [_joined(text, third, i + 3, 1.2)]
    return []


def _is_rest_of_size(tokens: Sequence[Token], i: int) -> bool:
    """Tell whether four figures end their clause, so that they may be the decimals of a size."""
    ends = i + 1 >= len(tokens) or tokens[i + 1].norm in (",", ".", ";", "and")
    return ends and len(tokens[i].text) == _SIZE_FIGURES and tokens[i].text.isdecimal()


def _joined(whole: str, part: str, end: int, cost: float) -> Printed:
    digits = _figures(whole + part)
    places = len(part)
    return Printed(_scaled(digits, places), end, cost, "decimal", "plain", digits, places)


def decimal_comma_at(tokens: Sequence[Token], i: int) -> list[Printed]:
    """Read "12,5" and "44,985", as much of the world prints decimals; no space, no list ("1,2,3")."""
    if i + 2 >= len(tokens) or tokens[i + 1].norm != ",":
        return []
    whole, part = tokens[i].text, tokens[i + 2].text
    if not (whole.isdecimal() and part.isdecimal() and len(whole) <= 6 and len(part) <= 6):
        return []
    if not (_adjacent(tokens, i + 1) and _adjacent(tokens, i + 2)):
        return []
    before, behind = i > 0 and tokens[i - 1].norm == ",", _adjacent(tokens, i + 3)
    listed = (before and _adjacent(tokens, i)) or (
        behind and tokens[i + 3].norm == "," and _adjacent(tokens, i + 4)
    )
    return [] if listed else [_joined(whole, part, i + 3, 0.2)]


def misprints_at(tokens: Sequence[Token], i: int) -> list[Printed]:
    """Read figures that stand for a number run on: "1.55" and "1:55" said "one fifty five"."""
    text = tokens[i].text
    if "." in text:
        whole, _, part = text.partition(".")
        if len(part) == 2 and 1 <= len(whole) <= 2 and whole.isdecimal() and whole[0] != "0":
            digits = _figures(whole + part)
            return [Printed(Fraction(int(digits)), i + 1, 2.0, "misprint", "plain", "")]
        return []
    if i + 2 < len(tokens) and tokens[i + 1].norm == ":" and text.isdecimal() and len(text) <= 2:
        second = tokens[i + 2].text
        if second.isdecimal() and len(second) == 2 and _adjacent(tokens, i + 1) and _adjacent(tokens, i + 2):
            return [Printed(Fraction(int(_figures(text + second))), i + 3, 1.5, "misprint", "clock")]
    return []
