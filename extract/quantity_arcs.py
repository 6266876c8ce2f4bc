"""Every quantity that can start at a token: number, the unit behind it, "and a half" behind that.

The search over an utterance (reading_search.py) chooses among these; here only grammar counts.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from extract.number_words import ARTICLES, ONES, TEENS, TENS
from extract.numbers import NumberReading, numbers_at, vague_number_end
from extract.spoken_units import UnitName, unit_names_at, units_after
from extract.tokens import Token

_AND_PARTS = {
    ("a", "half"): Fraction(1, 2),
    ("a", "quarter"): Fraction(1, 4),
    ("three", "quarters"): Fraction(3, 4),
    ("a", "bit"): None,
    ("half",): Fraction(1, 2),
    ("quarter",): Fraction(1, 4),
    ("a", "third"): Fraction(1, 3),
    ("three", "quarter"): Fraction(3, 4),
    ("a", "sixteenth"): Fraction(1, 16),
    ("an", "eighth"): Fraction(1, 8),
}
_ABOUT = (
    ("about",),
    ("around",),
    ("roughly",),
    ("approximately",),
    ("near", "enough"),
    ("nearly",),
    ("almost",),
    ("just", "under"),
    ("just", "over"),
    ("a", "bit", "under"),
    ("a", "bit", "over"),
    ("a", "hair", "over"),
    ("a", "hair", "under"),
    ("close", "to"),
    ("a", "shade", "under"),
    ("a", "shade", "over"),
    ("bit", "under"),
    ("bit", "over"),
    ("maybe",),
    ("say",),
    ("a", "touch", "over"),
    ("a", "touch", "under"),
    ("a", "little", "over"),
    ("a", "little", "under"),
    ("somewhere", "near"),
    ("a", "tad", "over"),
    ("a", "tad", "under"),
    ("or", "so"),
)
#: A bound, not the value itself.
_BOUND = frozenset({"under", "over"})
_AFTER_ABOUT = (
    ("or", "so"),
    ("ish",),
    ("odd",),
    ("or", "thereabouts"),
    ("near", "enough"),
    ("give", "or", "take"),
    ("and", "a", "bit"),
    ("something",),
    ("and", "a", "hair"),
    ("and", "change"),
)


@dataclass(frozen=True, slots=True, eq=False)
class Quantity:
    """A number with its unit at tokens ``start`` to before ``end``; compared by identity."""

    start: int
    end: int
    number_end: int
    number: NumberReading
    value: Fraction | None
    """In ``unit``'s own spoken size; None where nobody counted ("a couple of thou")."""
    unit: UnitName | None
    cost: float
    approximate: bool = False
    bound: bool = False
    """Said as a bound ("a bit under thirty")."""
    others: tuple[Quantity, ...] = ()
    """What else was offered in the same breath ("two or three hundredths")."""
    span: bool = False
    """The other is the far end of a range ("thirty to thirty two")."""


def quantities_at(tokens: Sequence[Token], i: int) -> list[Quantity]:
    """Return every quantity that can start at token ``i``, the longest first."""
    found: list[Quantity] = []
    vague = _vague_at(tokens, i)
    if vague is not None:
        return [vague]
    if _hangs_on_unit(tokens, i):
        return []
    for number in (*_decimal_comma(tokens, i), *numbers_at(tokens, i)):
        if number.style == "ordinal" or (number.end == i + 1 and tokens[i].norm in _CRIES):
            continue
        figures = tokens[number.end - 1].text[0].isdecimal()
        units = units_after(tokens, number.end, number.value, number.style, figures)
        if not units:
            if number.style == "article":
                continue
            found.append(_bare(tokens, i, number))
        for unit in units:
            found.append(_with_unit(tokens, i, number, unit.name, unit.end, unit.name.cost + unit.extra_cost))
    return found


def alternatives_at(tokens: Sequence[Token], found: Sequence[Quantity]) -> list[Quantity]:
    """Return the quantities of ``found`` with what an "or" or a "to" behind them offers besides."""
    joined: list[Quantity] = []
    for first in found:
        start, span = _over_or(tokens, first.end)
        if start is None or first.value is None:
            continue
        seconds = [q for q in quantities_at(tokens, start) if q.value is not None]
        if not seconds:
            continue
        second = max(seconds, key=lambda q: (q.number_end, q.end, -q.cost))
        if span and second.value is not None and second.value <= first.value and second.unit == first.unit:
            continue
        joined.append(_joined(first, second, span))
    return joined


def _over_or(tokens: Sequence[Token], i: int) -> tuple[int | None, bool]:
    words = [t.norm for t in tokens[i : i + 2]]
    if not words:
        return None, False
    if words[0] == "or":
        at = i + 1
        while at + 1 < len(tokens) and tokens[at].norm in (
            "maybe",
            "even",
            "perhaps",
            "possibly",
            "about",
            "a",
            "an",
        ):
            if tokens[at].norm in ("a", "an") and any(q.unit is not None for q in quantities_at(tokens, at)):
                break
            at += 1
        return at, False
    if words[0] in ("to", "through") and len(words) > 1:
        return i + 1, True
    if words[0] == "-" and len(words) > 1 and 0 < i < len(tokens) - 1 and tokens[i + 1].text[0].isdecimal():
        return i + 1, True
    return None, False


def _joined(first: Quantity, second: Quantity, span: bool) -> Quantity:
    """Join two offers; a unit or a scale said once holds for both."""
    if first.unit is None and second.unit is not None and first.number.scale == "plain":
        first = replace(first, unit=second.unit)
    elif second.unit is None and first.unit is not None and second.number.scale == "plain":
        second = replace(second, unit=first.unit)
    elif first.unit is None and first.number.scale == "plain" and second.number.scale in _SCALES:
        number = first.number._replace(
            value=first.number.value / _SCALES[second.number.scale], scale=second.number.scale
        )
        first = replace(first, number=number, value=number.value)
    return replace(
        first,
        end=second.end,
        number_end=second.number_end,
        others=(second,),
        span=span,
        cost=first.cost + second.cost,
    )


#: Alone these are no zero: "oh, that's tight".
_CRIES = frozenset({"oh", "o", "nil", "ought"})
_SCALES = {"tenths": 10, "hundredths": 100, "thousandths": 1000, "ten_thousandths": 10_000}


def split_cost(tokens: Sequence[Token], i: int) -> float:
    """Return what it costs to cut a run of number words before token ``i``.

    "two | twenty eight" is how people string position and value together; "thirty | one" and
    "two hundred | fifty" cut through what is said as one number.
    """
    if not 0 < i < len(tokens):
        return 0.0
    before, word = tokens[i - 1].norm, tokens[i].norm
    if word in (
        "hundred",
        "thousand",
        "point",
        "decimal",
        "tenths",
        "hundredths",
        "thousandths",
        "thousandth",
    ):
        return 2.5 if _in_number(before) else 0.0
    if before in ("point", "decimal"):
        return 2.5
    if word in ("half", "quarter") or (
        word in ("and", "&") and i + 2 < len(tokens) and _part_follows(tokens, i + 1)
    ):
        return 1.2 if _in_number(before) else 0.0
    if before in TENS and word in ONES:
        return 0.9
    if before in ("hundred", "thousand") and (word in TENS or word in ONES or word in TEENS or word == "and"):
        return 1.2
    if before in ONES and word in ONES:
        return 0.3
    if before in ONES and (word in TENS or word in TEENS):
        return 0.1
    return 0.0


def _in_number(word: str) -> bool:
    return (
        word in ONES
        or word in TENS
        or word in TEENS
        or word in ("hundred", "zero", "oh", "nought")
        or word[0].isdecimal()
    )


def _part_follows(tokens: Sequence[Token], i: int) -> bool:
    words = tuple(t.norm for t in tokens[i : i + 2])
    return words in _AND_PARTS or words[:1] in _AND_PARTS


def _decimal_comma(tokens: Sequence[Token], i: int) -> tuple[NumberReading, ...]:
    """Read "0,41": figures on both sides of a comma without a space between."""
    if i + 2 >= len(tokens) or tokens[i + 1].norm != ",":
        return ()
    whole, comma, part = tokens[i : i + 3]
    if not (
        whole.text.isdecimal()
        and part.text.isdecimal()
        and whole.end == comma.start
        and comma.end == part.start
    ):
        return ()
    digits = whole.text + part.text
    cost = 0.0 if whole.text == "0" else 0.6
    value = Fraction(int(digits), 10 ** len(part.text))
    return (NumberReading(value, i + 3, cost, "decimal", "plain", digits, len(part.text)),)


def _bare(tokens: Sequence[Token], i: int, number: NumberReading) -> Quantity:
    about, bound = _approximate(tokens, i, number.end)
    return Quantity(i, number.end, number.end, number, number.value, None, number.cost, about, bound)


def _with_unit(
    tokens: Sequence[Token], i: int, number: NumberReading, unit: UnitName, end: int, cost: float
) -> Quantity:
    value = number.value
    part_end, part = _and_part(tokens, end)
    if part is not None and value.denominator == 1:
        value, end = value + part, part_end
    if unit.said == "in" and value.denominator == 1:
        more = _thousandths_after(tokens, end)
        if more is not None:
            value, end = value + more[0], more[1]
    less = _less_after(tokens, end, unit)
    if less is not None:
        value, end = value - less[0], less[1]
    number_cost = 0.0 if number.style == "article" else number.cost
    about, bound = _approximate(tokens, i, end)
    return Quantity(i, end, number.end, number, value, unit, number_cost + cost, about, bound)


def _less_after(tokens: Sequence[Token], end: int, unit: UnitName) -> tuple[Fraction, int] | None:
    """Read "less twenty thou" behind a size, in the size's own unit."""
    if end + 1 >= len(tokens) or tokens[end].norm not in ("less", "minus") or unit.unit != "in":
        return None
    for number in numbers_at(tokens, end + 1):
        for behind in units_after(tokens, number.end, number.value, number.style, False):
            if behind.name.unit == "in" and behind.name.factor < unit.factor:
                return number.value * behind.name.factor / unit.factor, behind.end
    return None


def _thousandths_after(tokens: Sequence[Token], end: int) -> tuple[Fraction, int] | None:
    """Read the thousandths behind whole inches ("one inch two thirty five")."""
    if end >= len(tokens):
        return None
    best: tuple[Fraction, int] | None = None
    for number in numbers_at(tokens, end):
        units = units_after(tokens, number.end, number.value, number.style, False)
        said = units[0].name.said if units else ""
        whole = number.value.denominator == 1 and number.style in ("cardinal", "juxtaposed", "digit_run")
        if whole and 0 < number.value < 1000 and (said == "thou" or (not said and len(number.digits) == 3)):
            stop = units[0].end if units else number.end
            if best is None or stop > best[1]:
                best = number.value / 1000, stop
    return best


def _and_part(tokens: Sequence[Token], end: int) -> tuple[int, Fraction | None]:
    """Read "and a half" behind a unit ("a thou and a half")."""
    if end + 1 >= len(tokens) or tokens[end].norm not in ("and", "&"):
        return end, None
    for words, part in _AND_PARTS.items():
        last = end + 1 + len(words)
        if part is not None and tuple(t.norm for t in tokens[end + 1 : last]) == words:
            if unit_names_at(tokens, last)[0]:
                return end, None
            return last, part
    return end, None


def _hangs_on_unit(tokens: Sequence[Token], i: int) -> bool:
    """Tell whether "a half" here belongs to a unit before it ("[a] thou and a half", the "a" swallowed).

    Alone it would be read as half of what was said.
    """
    joint = i - 2 if i >= 3 and tokens[i - 1].norm == "a" else i - 1
    if joint < 1 or tokens[joint].norm not in ("and", "&"):
        return False
    if not any(tuple(t.norm for t in tokens[joint + 1 : joint + 1 + n]) in _AND_PARTS for n in (1, 2)):
        return False
    names, end = unit_names_at(tokens, joint - 1)
    return bool(names) and end == joint


def _vague_at(tokens: Sequence[Token], i: int) -> Quantity | None:
    end = vague_number_end(tokens, i)
    if end is None:
        return None
    names, unit_end = unit_names_at(tokens, end)
    if not names or names[0].foreign:
        return None
    number = NumberReading(Fraction(0), end, 0.0, "vague")
    return Quantity(i, unit_end, end, number, None, names[0], 0.0, True)


def _approximate(tokens: Sequence[Token], start: int, end: int) -> tuple[bool, bool]:
    """Tell whether words around say "about", and whether they make the number a bound."""
    before = [t.norm for t in tokens[max(0, start - 3) : start]]
    while before and before[-1] in ("the", *ARTICLES) and len(before) > 1:
        before.pop()
    for words in _ABOUT:
        if tuple(before[-len(words) :]) == words:
            return True, words[-1] in _BOUND
    following = [t.norm for t in tokens[end : end + 3]]
    return any(tuple(following[: len(words)]) == words for words in _AFTER_ABOUT), False
