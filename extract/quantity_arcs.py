"""The amounts that the record builder's search chooses among: those of the grammar, with their hedges.

Grammar and costs are those of :mod:`extract.quantity_grammar`; here alternatives are joined ("two or
three hundredths").
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from extract.approximations import About, hedge_before, hedge_behind
from extract.compound_amounts import hangs_on_unit
from extract.number_cues import cue_phrases
from extract.number_words import ARTICLES, ONES
from extract.numbers import NumberReading
from extract.quantity_grammar import Arc, arcs_at, vague_amount_at
from extract.spoken_units import UnitName
from extract.tokens import Token, TokenLine

_RANGES: Final = frozenset(cue_phrases("ranges"))
_LONGEST_RANGE: Final = max(map(len, _RANGES))
#: Between "or" and what else it may be.
_MAYBE: Final = frozenset({"maybe", "even", "perhaps", "possibly", "about", *ARTICLES})
_WAVERING: Final = (
    ("it", "could", "be"),
    ("it", "might", "be"),
    ("could", "be"),
    ("might", "be"),
    ("maybe",),
    ("perhaps",),
    ("possibly",),
)
#: A value so much above the number of its place makes no range with it.
_FAR: Final = 5
#: So many tokens may a number and its unit be said in.
_LONGEST_SAID: Final = 9
_SCALES: Final = {"tenths": 10, "hundredths": 100, "thousandths": 1000, "ten_thousandths": 10_000}


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


def quantities_at(tokens: Sequence[Token], i: int) -> Sequence[Quantity]:
    """Return every quantity that can start at token ``i``, the longest number first."""
    if not isinstance(tokens, TokenLine):
        return _quantities_at(tokens, i)
    found: Sequence[Quantity] | None = tokens.hedged.get(i)
    if found is None:
        found = tokens.hedged[i] = tuple(_quantities_at(tokens, i))
    return found


def _quantities_at(tokens: Sequence[Token], i: int) -> list[Quantity]:
    vague = vague_amount_at(tokens, i)
    if vague is not None:
        number = NumberReading(Fraction(0), vague.number_end, 0.0, "vague")
        return [Quantity(i, vague.end, vague.number_end, number, None, vague.unit, 0.0, True)]
    arcs = arcs_at(tokens, i)
    if not arcs or hangs_on_unit(tokens, i):
        return []
    before = hedge_before(tokens, i)
    return [
        _quantity(tokens, i, arc, before)
        for arc in arcs
        if not arc.leaves_unit and arc.number.style != "ordinal"
    ]


def _quantity(tokens: Sequence[Token], i: int, arc: Arc, before: About) -> Quantity:
    approximate, bound = before if before.approximate else hedge_behind(tokens, i, arc.end)
    return Quantity(i, arc.end, arc.number.end, arc.number, arc.value, arc.unit, arc.cost, approximate, bound)


def alternatives_at(tokens: Sequence[Token], found: Sequence[Quantity]) -> list[Quantity]:
    """Return the quantities of ``found`` with what an "or" or a "to" behind them offers besides."""
    joined: list[Quantity] = []
    seconds_at: dict[int, Sequence[Quantity]] = {}
    for first in found:
        start, span = _over_join(tokens, first.end)
        if start is None or first.value is None:
            continue
        if start not in seconds_at:
            seconds_at[start] = [q for q in quantities_at(tokens, start) if q.value is not None]
        if not seconds_at[start]:
            continue
        second = max(seconds_at[start], key=lambda q: (q.number_end, q.end, -q.cost))
        if span and second.value is not None and second.value <= first.value and second.unit == first.unit:
            continue
        if tokens[first.end].norm == "-" and (
            _is_mixed(tokens, first, second) or first.end in _paired_places(tokens)
        ):
            continue
        joined.append(_joined(first, second, span))
    return joined


def quantities_ending_at(tokens: Sequence[Token], end: int) -> list[Quantity]:
    """Return every quantity that ends right before a token."""
    found = (q for i in range(max(0, end - _LONGEST_SAID), end) for q in quantities_at(tokens, i))
    return [q for q in found if q.end == end]


def _is_mixed(tokens: Sequence[Token], first: Quantity, second: Quantity) -> bool:
    """Whether a hyphen makes one number of two: "4-1/4 inches"."""
    whole = first.unit is None and first.value is not None and first.value.denominator == 1
    part = second.number.style == "fraction" and second.number.value < 1
    return whole and part and tokens[first.end].start == tokens[first.end - 1].end


def _paired_places(tokens: Sequence[Token]) -> frozenset[int]:
    """Return the hyphens of "1-12, 2-11, 3-12": places that count from one, each with its value.

    A range goes from so much to a little more, so that values far from their places are none.
    """
    found: list[int] = []
    for i in range(1, len(tokens) - 1):
        if tokens[i].norm != "-":
            continue
        before, behind = tokens[i - 1].text, tokens[i + 1].text
        joined = tokens[i - 1].end == tokens[i].start and tokens[i].end == tokens[i + 1].start
        if not (joined and before.isdecimal() and behind.isdecimal() and len(before) < 3 and len(behind) < 5):
            continue
        if int(before) != len(found) + 1 or int(behind) < int(before) + _FAR:
            return frozenset()
        found.append(i)
    return frozenset(found) if len(found) > 1 else frozenset()


def between_at(tokens: Sequence[Token], found: Sequence[Quantity]) -> list[Quantity]:
    """Return the quantities of ``found`` that an "and" behind them makes the lower end of a range."""
    joined: list[Quantity] = []
    for first in found:
        if first.end >= len(tokens) or tokens[first.end].norm != "and" or first.value is None:
            continue
        seconds = [q for q in quantities_at(tokens, first.end + 1) if q.value is not None]
        if seconds:
            joined.append(_joined(first, max(seconds, key=lambda q: (q.number_end, q.end, -q.cost)), True))
    return joined


def _over_join(tokens: Sequence[Token], i: int) -> tuple[int | None, bool]:
    """Return where the other amount starts behind "or" or "to" at ``i``, and whether it makes a range."""
    if i + 1 >= len(tokens):
        return None, False
    word = tokens[i].norm
    wavering = _wavering(tokens, i)
    if word == "or" or wavering > i:
        at = i + 1 if word == "or" else wavering
        while at + 1 < len(tokens) and tokens[at].norm in _MAYBE:
            if tokens[at].norm in ARTICLES and any(q.unit is not None for q in quantities_at(tokens, at)):
                break
            at += 1
        return at, False
    if word == "-":
        return (i + 1, True) if i and tokens[i + 1].text[0].isdecimal() else (None, False)
    words = tuple(token.norm for token in tokens[i : i + _LONGEST_RANGE])
    size = max((n for n in range(1, len(words) + 1) if words[:n] in _RANGES), default=0)
    return (i + size, True) if size and i + size < len(tokens) else (None, False)


def _wavering(tokens: Sequence[Token], i: int) -> int:
    """Return the token behind a "maybe" that offers another amount ("six, maybe seven"), else ``i``."""
    at = i + (tokens[i].norm == ",")
    words = [token.norm for token in tokens[at : at + 3]]
    for phrase in _WAVERING:
        if tuple(words[: len(phrase)]) == phrase and at + len(phrase) < len(tokens):
            behind = at + len(phrase)
            offered = [q for q in quantities_at(tokens, behind) if q.value is not None]
            if not offered:
                return i
            # "Vane one eighteen, maybe two nineteen" goes on with another place.
            last = max(offered, key=lambda q: q.end)
            placed = (
                tokens[behind].norm in ONES and behind + 1 < last.number_end and last.number.scale == "plain"
            )
            whole = last.unit is not None or last.number.scale != "plain" or last.end >= len(tokens)
            return behind if (whole or tokens[last.end].norm in (",", ".", ";", "?")) and not placed else i
    return i


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


def longest_quantity(tokens: Sequence[Token], i: int) -> Quantity | None:
    """Return the longest, then cheapest quantity that starts at a token; None where none does."""
    found = quantities_at(tokens, i) if i < len(tokens) else []
    return max(found, key=lambda q: (q.number_end, q.end, -q.cost)) if found else None
