"""What stands behind a number: units of the closed list, shop names for parts of them, foreign units.

"thou" and "mils" are thousandths of an inch, a "mil" is a millimetre to most who say it and a
thousandth to some, "pounds" and "degrees" stay open until something else decides. A foreign unit
(gallons, turns, light bands) is known so that its number is not taken for a reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from extract.number_words import ONES
from extract.tokens import Token, tokenize
from shared.data_files import read_data
from shared.lexicon import load_lexicon

_FILE = Path(__file__).with_suffix(".yaml")


class UnitName(NamedTuple):
    """What a spoken unit may be."""

    unit: str | None
    """Of the closed list; None where open ("pounds") or foreign ("gallons")."""
    factor: Fraction
    """Of ``unit`` in one of the spoken unit."""
    said: str
    """One name for all its spellings: thou, mil, pounds, degrees, hour …, or the unit's own."""
    cost: float
    foreign: bool = False


_FOREIGN = UnitName(None, Fraction(1), "foreign", 0.0, True)


class SpokenUnit(NamedTuple):
    """A unit found behind a number."""

    name: UnitName
    end: int
    """Index of the token after it."""
    extra_cost: float = 0.0


_TIME = frozenset({"s", "min"})
_RATED = frozenset({"rev", "revolution", "turn", "foot", "inch", "side", "stroke"})
_RATED_BY_ARTICLE = frozenset({"second", "minute", "hour", "day", "foot", "rev", "turn"})
_BEFORE_AN_HOUR = frozenset({"for", "it", "in", "after", "took", "takes", "held", "ran", "than", "about"})
_HEADS = frozenset({"mercury", "hg", "water", "head", "vacuum"})
_ARTICLE_SAID = frozenset({"thou", "mil", "in", "mm", "um", "g", "degrees", "mm_s", "psi"})


#: "two point two left millimetres": the place came in before the unit.
_PLACED_BETWEEN = frozenset({"left", "right", "each", "total", "apiece", "inboard", "outboard"})


class _Node(dict[str, "_Node"]):
    __slots__ = ("names",)

    def __init__(self) -> None:
        super().__init__()
        self.names: tuple[UnitName, ...] = ()


@cache
def _trie() -> _Node:
    root = _Node()
    for unit, phrases in load_lexicon().units.items():
        for phrase in phrases:
            _plant(root, phrase, (UnitName(unit, Fraction(1), unit, 0.0),))
    data = _data()
    for entry in data["shop"]:
        names = tuple(
            UnitName(name["unit"], Fraction(name.get("factor", 1)), name["said"], float(name.get("cost", 0)))
            for name in entry["names"]
        )
        for form in entry["say"].split("|"):
            _plant(root, form, names)
    for form in data["foreign"].split("|"):
        _plant(root, form, (_FOREIGN,))
    return root


@cache
def _data() -> dict[str, Any]:
    data: dict[str, Any] = read_data(_FILE)
    return data


@cache
def _after_preposition() -> frozenset[str]:
    return frozenset(_data()["after_preposition"].split())


def _plant(root: _Node, phrase: str, names: tuple[UnitName, ...]) -> None:
    node = root
    for token in tokenize(phrase):
        node = node.setdefault(token.norm, _Node())
    if not node.names or node.names[0].said != names[0].said:
        node.names = names


#: "All at two eighty bar one that's stuck".
_ALL_BUT = (["one", "that"], ["one", "which"], ["one", "of"], ["one", "'s"], ["one", "is"], ["the", "one"])
#: "Lock screws fifty five thread locker": no thread of a screw.
_THREAD_WHAT = (["locker"], ["lock"], ["locking"], ["lockers"], ["sealant"], ["sealer"], ["compound"])
#: "Backed off one flat", "half a flat".
_FLATS_TURNED = (1, Fraction(1, 2), Fraction(1, 4), Fraction(3, 4), Fraction(1, 3), Fraction(2, 3))


def unit_names_at(tokens: Sequence[Token], i: int) -> tuple[tuple[UnitName, ...], int]:
    """Return the longest unit that starts at token ``i`` and its end; empty where there is none."""
    node: _Node | None = _trie()
    best: tuple[tuple[UnitName, ...], int] = ((), i)
    at = i
    while node is not None and at < len(tokens):
        node = node.get(tokens[at].norm)
        at += 1
        if node is not None and node.names:
            best = (node.names, at)
    return best


def is_amount(tokens: Sequence[Token], i: int) -> bool:
    """Whether a unit stands right behind a number ("five thou"); short ones may be words ("in", "m")."""
    names, end = unit_names_at(tokens, i + 1)
    return bool(names) and (end > i + 2 or len(tokens[i + 1].norm) > 2)


def units_after(
    tokens: Sequence[Token], i: int, number: Fraction, style: str, figures: bool
) -> list[SpokenUnit]:
    """Return what the unit behind a number that ends at ``i`` may be.

    ``number`` and ``style`` say which number it is, ``figures`` whether it was printed: the words
    between ("half a thou", "three quarters of an inch") and "in" depend on it.
    """
    at = _over_joining_words(tokens, i, number, style)
    if at is None or at >= len(tokens):
        return []
    names, end = unit_names_at(tokens, at)
    if tokens[at].norm == "more" and unit_names_at(tokens, at + 1)[0][:1] == (_FOREIGN,):
        # "two more turns"
        names, end = unit_names_at(tokens, at + 1)
    if not names and tokens[at].norm == "-" and at + 1 < len(tokens):
        names, end = unit_names_at(tokens, at + 1)
    if not names or not _fits(tokens, at, end, names[0].said, number, style, figures):
        return []
    following = [token.norm for token in tokens[end : end + 1]]
    if following == ["'d"]:
        # "Twenty two, mic'd it" was measured with a micrometer.
        return []
    if tokens[at].norm == "thread" and end == at + 1 and following in _THREAD_WHAT:
        return []
    if tokens[at].norm == "bar" and [t.norm for t in tokens[at + 1 : at + 3]] in _ALL_BUT:
        return []
    if tokens[at].norm == "flat" and number not in _FLATS_TURNED:
        # "Four flat" is four exactly; a nut is turned one flat, or several flats.
        return []
    if style == "article" and not _takes_article(tokens, names[0].said, i, end):
        return []
    if style == "article" and tokens[at].norm.endswith("meter"):
        # A micrometer is what one measures with.
        return []
    rate_end = _rate_end(tokens, end, names[0].unit)
    if rate_end > end:
        return [SpokenUnit(_FOREIGN, rate_end)]
    return [SpokenUnit(_by_grammar(name, number), end) for name in names]


def _rate_end(tokens: Sequence[Token], i: int, unit: str | None) -> int:
    """Return the end of "per inch", "a minute", "of mercury" behind a unit, ``i`` where there is none.

    So much of one unit to one of another is no unit of the closed list; those that are stand in the
    lexicon as a whole ("millimetres a second").
    """
    if i + 1 >= len(tokens):
        return i
    word, other = tokens[i].norm, tokens[i + 1].norm
    if word == "of" and other in _HEADS and unit in ("in", "mm"):
        return i + 2
    if word in ("per", "/", "by") and (word != "by" or other in ("second", "minute", "hour")):
        return i + 2 if other in _RATED or unit_names_at(tokens, i + 1)[0] else i
    ago = i + 2 < len(tokens) and tokens[i + 2].norm in ("ago", "and", "later", "or")
    return i + 2 if word in ("a", "an") and other in _RATED_BY_ARTICLE and not ago else i


def _takes_article(tokens: Sequence[Token], said: str, i: int, end: int) -> bool:
    """Tell whether "a" before a unit counts one of it: "a thou", but not "give it a minute"."""
    if [token.norm for token in tokens[end : end + 3]] in (["and", "a", "half"], ["and", "a", "quarter"]):
        return True
    joined = end < len(tokens) and tokens[end].norm == "and"
    if said == "hour":
        before = tokens[i - 2].norm if i > 1 else ""
        later = end < len(tokens) and tokens[end].norm in ("ago", "later", "from", "before", "earlier")
        return joined or (before in _BEFORE_AN_HOUR and not later)
    if said == "pounds":
        return joined
    return said in _ARTICLE_SAID


def _over_joining_words(tokens: Sequence[Token], i: int, number: Fraction, style: str) -> int | None:
    """Step over "of a", "of an", "a" and "odd" between a number and its unit."""
    if i >= len(tokens):
        return None
    word = tokens[i].norm
    following = tokens[i + 1].norm if i + 1 < len(tokens) else ""
    part = number < 1 or style in ("fraction", "mixed", "thousandths")
    if word == "of" and following in ("a", "an", "one"):
        return i + 2 if part else None
    if word in ("a", "an"):
        if number == Fraction(1, 2) and style == "fraction":
            return i + 2 if following == "full" else i + 1
        return None
    if word in _PLACED_BETWEEN and len(following) > 1 and following != "in":
        return i + 1 if unit_names_at(tokens, i + 1)[0] else i
    if word in ("odd", "full", "strong", "bare", "good", "ish", "clear", "solid"):
        return i + 1
    return i


def _fits(
    tokens: Sequence[Token], at: int, end: int, said: str, number: Fraction, style: str, figures: bool
) -> bool:
    """Refuse the other meanings of "in", "c", "second", "off", "g", '"' and "m"."""
    word = tokens[at].norm
    following = tokens[end].norm if end < len(tokens) else ""
    if said == "count" and word == "of":
        return number >= 2
    if end - at > 1:
        return True
    if word == "in":
        return figures and following not in _after_preposition() and not _counts_behind(tokens, end)
    if word == '"':
        return figures
    if word in ("c", "f"):
        spelled = not figures and not (following[:1].isdecimal() or len(following) == 1 or following in ONES)
        return spelled or (figures and tokens[at].text.isupper())
    if word in ("g", "m"):
        return figures
    if word == "second":
        return number == 1 or following in ("hold", "soak", "count", "dwell", "burst", "wait")
    if word == "off":
        return (
            not following
            or not following[0].isalnum()
            or following in ("new", "renewed", "reused", "m")
            or following[-1].isdecimal()
        )
    return not (word in ("tenth", "tenths") and style not in ("article",))


def _counts_behind(tokens: Sequence[Token], i: int) -> bool:
    """Tell "85 in 2 stages" from "1 in 40 thou": a small number of something that is no inch."""
    if i + 1 >= len(tokens) or not tokens[i].text.isdecimal():
        return False
    return tokens[i + 1].norm not in ("in", "thou", '"', "/", "-") and len(tokens[i].text) <= 2


def _by_grammar(name: UnitName, number: Fraction) -> UnitName:
    """Weigh "mil" by its number: "five mil" is metric talk, "half a mil" and "one mil" are anybody's."""
    if (
        name.said == "mil"
        and name.unit == "mm"
        and number in (1, Fraction(1, 2), Fraction(1, 4), Fraction(3, 4))
    ):
        return name._replace(cost=0.8)
    return name


def is_time(unit: str | None) -> bool:
    """Tell whether a unit measures time."""
    return unit in _TIME
