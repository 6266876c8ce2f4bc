"""What stands behind a number: units of the closed list, shop names for parts of them, foreign units.

"thou" and "mils" are thousandths of an inch, a "mil" is a millimetre to most who say it and a
thousandth to some, "pounds" and "degrees" stay open until something else decides. A foreign unit
(gallons, turns, light bands) is known so that its number is not taken for a reading.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from extract.number_words import ONES
from extract.tokens import Token, tokenize
from shared.lexicon import load_lexicon

_THOUSANDTH = Fraction(1, 1000)


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


class SpokenUnit(NamedTuple):
    """A unit found behind a number."""

    name: UnitName
    end: int
    """Index of the token after it."""
    extra_cost: float = 0.0


def _one(unit: str | None, said: str, factor: Fraction | int = 1, cost: float = 0.0) -> UnitName:
    return UnitName(unit, Fraction(factor), said, cost)


_THOU = _one("in", "thou", _THOUSANDTH)
_MILLIMETRE_MIL = _one("mm", "mil")
_INCH_MIL = _one("in", "mil", _THOUSANDTH, 0.8)
_POUNDS = (_one(None, "pounds"), _one("psi", "pounds", 1, 0.6), _one("ft_lb", "pounds", 1, 0.9),
           _one("in_lb", "pounds", 1, 1.6))  # fmt: skip
_DEGREES = (_one(None, "degrees"), _one("degF", "degrees", 1, 0.6), _one("degC", "degrees", 1, 0.6))

#: Names that the lexicon leaves to this room (common practice, no source), and usual spellings of
#: recognisers. Each: spoken forms, then what they may be, likeliest first.
_SHOP_NAMES: tuple[tuple[str, tuple[UnitName, ...]], ...] = (
    ("thou|thous|thow|thousandths of an inch|thousandth of an inch|thous of an inch|mils|mills", (_THOU,)),
    ("mil|mill", (_MILLIMETRE_MIL, _INCH_MIL)),
    ("tenth|tenths|tenths of a thou|tenth of a thou", (_one("in", "tenths", Fraction(1, 10_000)),)),
    ("pound|pounds|lb|lbs", _POUNDS),
    ("degree|degrees|deg|°", _DEGREES),
    ("pounds of air|pounds of pressure|pounds pressure|pounds air|psig|lbs of air|pounds of water", (_one("psi", "psi"),)),
    ("pounds torque|pounds of torque|footpound|footpounds|foot lb|foot lbs|ft pounds|ft pound|ft . lbs|ft . lb"
     "|ft . lbs .|lbs ft|pounds foot|lbf · ft", (_one("ft_lb", "ft_lb"),)),
    ("inch lb|inch lbs|in pounds|in pound|inchpound|inchpounds|in . lbs|in . lb|lb in|pounds inch|pounds inches"
     "|inch pound force", (_one("in_lb", "in_lb"),)),
    ("newton metre s|newtons metre|newtons metres|newtons meter|newtons meters|newton|newton's metres|nms"
     "|n . m|n / m|neutron metres|neutron meters", (_one("N_m", "N_m"),)),
    ("p . s . i|p . s . i .|pounds to the square inch|pounds per square|lb per square inch|lbs per square inch|lb/in2|psis",
     (_one("psi", "psi"),)),
    ("r . p . m|r . p . m .|revs a minute|rev per minute|rpms|turns per minute|revolutions a minute", (_one("rpm", "rpm"),)),
    ("millibar|millibars|mbar", (_one("bar", "bar", _THOUSANDTH),)),
    ("kilo pascal|kilo pascals|kpas", (_one("kPa", "kPa"),)),
    ("megapascal|megapascals|mpa|mega pascals", (_one("kPa", "kPa", 1000),)),
    ("centimetre|centimetres|centimeter|centimeters|cm", (_one("mm", "mm", 10),)),
    ("m m|milli|millis|millimetre s|mms|millimetre's", (_one("mm", "mm"),)),
    ("mike|mikes|micro metres|micro metre", (_one("um", "um", 1, 0.4),)),
    ("m m per second|m m a second|mils a second|mil a second|mils per second|mm a second|mm per sec|millimetres per sec|mm / sec|millimetres / second",
     (_one("mm_s", "mm_s"),)),
    ("kilogram|kilograms|kilogramme|kilogrammes|kilo|kilos|kg|kgs", (_one("g", "g", 1000),)),
    ("hour|hours|hr|hrs", (_one("min", "hour", 60),)),
    ("second|seconds|sec|secs", (_one("s", "s"),)),
    ("c|celcius|centigrades|deg . c|° c|degree c|degree celsius|degrees see", (_one("degC", "degC"),)),
    ("fahrenheits|farenheit|deg . f|° f|f|degree f|degree fahrenheit|degrees fahr", (_one("degF", "degF"),)),
    ("inch deep|inches deep", (_one("in", "in"),)),
)  # fmt: skip

#: Units that no reading is kept in; their numbers are no readings.
_FOREIGN = (
    "turn turns|full turn|light band|light bands|band bands|helium bands|gallon gallons|gpm|g p m|litre litres"
    "|liter liters|volt volts|amp amps|hertz|hz|horse|horsepower|hp|h p|kilowatt kilowatts|kw|watt watts"
    "|foot|feet|foot of head|feet of head|ft|yard yards|mile miles|metre metres|meter meters|m|ton tons|tonne tonnes|ounce ounces"
    "|day days|week weeks|month months|year years|quid|dollar dollars|buck bucks|euro euros|pence|p m|a m|am|pm"
    "|sugar sugars|place places|time times|pass passes|go|goes|step steps|lap laps|shot shots|flat flats|point|nil"
    "|o'clock|o clock|oclock|newtons force|kilonewton kilonewtons|kn|clicks|click|notch|thread|threads|t p i|tpi|grit"
    "|horse power|cubic|decibels|db|poles|phase|ring binder|grand|percent off|cc|millilitre millilitres"
    "|ml|cst|centistokes|hundredweight|squad|star|hits|laps|grunts|sandwiches|beers|pints|pint|coffees|teas"
)
_TIME = frozenset({"s", "min"})
_ARTICLE_SAID = frozenset({"thou", "mil", "in", "mm", "um", "g", "degrees", "mm_s", "psi"})
#: After "in" these show that it is the preposition.
_AFTER_PREPOSITION = frozenset(
    "the a an there it this that these those my our his her their total all place here each both one range spec "
    "good bad off and which what case front back between half order stock by two three four five six turn".split()
)


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
            _plant(root, phrase, (_one(unit, unit),))
    for forms, names in _SHOP_NAMES:
        for form in forms.split("|"):
            _plant(root, form, names)
    foreign = (UnitName(None, Fraction(1), "foreign", 0.0, True),)
    for group in _FOREIGN.split("|"):
        words = group.split()
        # "litre litres" are two names; "light bands" is one.
        pair = len(words) == 2 and words[1].startswith(words[0])
        for form in words if pair else [group]:
            _plant(root, form, foreign)
    return root


def _plant(root: _Node, phrase: str, names: tuple[UnitName, ...]) -> None:
    node = root
    for token in tokenize(phrase):
        node = node.setdefault(token.norm, _Node())
    if not node.names or node.names[0].said != names[0].said:
        node.names = names


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
    if not names and tokens[at].norm == "-" and at + 1 < len(tokens):
        names, end = unit_names_at(tokens, at + 1)
    if not names or not _fits(tokens, at, end, names[0].said, number, style, figures):
        return []
    if style == "article" and not _takes_article(tokens, names[0].said, end):
        return []
    return [SpokenUnit(_by_grammar(name, number), end) for name in names]


def _takes_article(tokens: Sequence[Token], said: str, end: int) -> bool:
    """Tell whether "a" before a unit counts one of it: "a thou", but not "give it a minute"."""
    if said == "hour":
        return end < len(tokens) and tokens[end].norm == "and"
    return said in _ARTICLE_SAID


def _over_joining_words(tokens: Sequence[Token], i: int, number: Fraction, style: str) -> int | None:
    """Step over "of a", "of an", "a" and "odd" between a number and its unit."""
    if i >= len(tokens):
        return None
    word = tokens[i].norm
    following = tokens[i + 1].norm if i + 1 < len(tokens) else ""
    part = number < 1 or style in ("fraction", "thousandths")
    if word == "of" and following in ("a", "an", "one"):
        return i + 2 if part else None
    if word in ("a", "an"):
        if number == Fraction(1, 2) and style == "fraction":
            return i + 2 if following == "full" else i + 1
        return None
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
        return figures and following not in _AFTER_PREPOSITION
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
        return not following or not following[0].isalnum() or following in ("new", "renewed", "reused")
    if word in ("go", "point", "star"):
        return False
    if word in ("newton", "newtons"):
        return True
    return not (word in ("tenth", "tenths") and style not in ("article",))


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
