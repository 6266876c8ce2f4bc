"""Every amount that can start at a token: each reading of the number, each unit, and what joins them.

This is the one grammar of amounts; both doors read by it. ``find_quantities`` takes the cheapest way
through an utterance (quantity_lattice.py), the record builder searches with items, positions and
plausible spans on top (reading_search.py). Costs are those of :mod:`extract.numbers`.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from extract.compound_amounts import compounds, inch_and_part
from extract.number_words import ARTICLES, ORDINALS, POINTS, VAGUE, VULGAR_VALUES
from extract.numbers import NumberReading, numbers_at, vague_number_end
from extract.spoken_units import SpokenUnit, UnitName, unit_names_at, units_after
from extract.tokens import Token, TokenLine

#: A unit stands behind the number and is not taken as its own.
UNIT_LEFT = 3.0
#: What is joined to a number is cut off from it: "a thou | and a half".
_CUT = 1.5
_REPAIR = 0.2
#: Nobody at a bench measures less of a thou.
_LEAST_THOU = Fraction(1, 20)
_TOO_FINE = 2.0
_LONGEST_HEAD = 8
#: Alone these are no zero: "oh, that's tight".
_CRIES = frozenset({"oh", "o", "nil", "ought", "aught"})
#: Digits by what recognisers print for them between a ten and a unit ("thirty for thou").
_MISHEARD_DIGITS = {"for": 4, "fore": 4, "to": 2, "too": 2, "won": 1, "ate": 8, "tree": 3, "sicks": 6}
_VAGUE_STARTS = ARTICLES | VAGUE
_VAGUE_PARTS = frozenset({"tenths", "hundredths", "thousandths"})
_THOU = UnitName("in", Fraction(1, 1000), "thou", 0.0)
_INCHES = UnitName("in", Fraction(1), "in", 0.8)


class Arc(NamedTuple):
    """One amount that may stand on the tokens from where it was asked for to before ``end``."""

    end: int
    number: NumberReading
    value: Fraction
    """In units as said, what is joined to the number included ("two thou and a half": 5/2)."""
    unit: UnitName | None
    cost: float
    """Of number, unit and join together."""
    leaves_unit: bool = False
    """A unit stands right behind it and is not taken."""


class Vague(NamedTuple):
    """An amount that nobody counted."""

    end: int
    number_end: int
    unit: UnitName


def arcs_at(tokens: Sequence[Token], i: int) -> Sequence[Arc]:
    """Return every amount that can start at token ``i``; bare numbers and "twenty second" among them.

    Total, and bounded in work for each token whatever the length of the utterance.
    """
    if not isinstance(tokens, TokenLine):
        return _arcs_at(tokens, i)
    found: Sequence[Arc] | None = tokens.worked_out.get(i)
    if found is None:
        found = tokens.worked_out[i] = tuple(_arcs_at(tokens, i))
    return found


def _arcs_at(tokens: Sequence[Token], i: int) -> list[Arc]:
    readings = numbers_at(tokens, i)
    if not readings:
        return [
            Arc(join.end, join.number, join.value, join.unit, join.cost) for join in inch_and_part(tokens, i)
        ]
    first = tokens[i].text[0]
    figures = first.isdecimal() or first in ".-+" or first in VULGAR_VALUES
    arcs: list[Arc] = []
    for reading in readings:
        if reading.style == "ordinal":
            if reading.end > i + 1:
                counted = _predecessor_said(tokens, i, reading)
                arcs.append(Arc(reading.end, reading, reading.value, None, reading.cost + counted))
            continue
        if reading.end == i + 1 and tokens[i].norm in _CRIES:
            continue
        if reading.style == "decimal":
            reading = reading._replace(cost=reading.cost + _next_decimal_cost(tokens, i, reading))
        units = units_behind(tokens, reading, figures)
        for unit in units:
            arcs += _with_unit(tokens, reading, unit)
        arcs += _misheard_digit(tokens, reading, figures)
        if reading.style != "article":
            cost = reading.cost + (UNIT_LEFT if units else 0.0)
            arcs.append(Arc(reading.end, reading, reading.value, None, cost, bool(units)))
    return arcs


def units_behind(tokens: Sequence[Token], reading: NumberReading, figures: bool) -> list[SpokenUnit]:
    """Return the units that can stand behind a number; ``figures``: it is printed."""
    if reading.end >= len(tokens):
        return []
    return units_after(tokens, reading.end, abs(reading.value), reading.style, figures)


def _with_unit(tokens: Sequence[Token], reading: NumberReading, unit: SpokenUnit) -> list[Arc]:
    name = unit.name
    # "A thou" is as plain as "one thou"; only a lone "a" is no number.
    cost = name.cost + unit.extra_cost + (0.0 if reading.style == "article" else reading.cost)
    joins = [] if name.foreign else compounds(tokens, reading, name, unit.end)
    cut = _CUT if any(join.cost < 0 for join in joins) else 0.0
    arcs = [Arc(unit.end, reading, reading.value, name, cost + cut)]
    if name.foreign:
        return arcs
    arcs += [Arc(join.end, reading, join.value, name, cost + join.cost) for join in joins]
    if name.said == "thou" and reading.places >= 3 and abs(reading.value) < 1:
        # "point oh three one thou" was read off a drawing in inches.
        if abs(reading.value) < _LEAST_THOU:
            arcs = [arc._replace(cost=arc.cost + _TOO_FINE) for arc in arcs]
        arcs.append(Arc(unit.end, reading, reading.value, _INCHES, reading.cost + _INCHES.cost))
    if name.said == "in" and reading.style in ("digit_run", "mixed_run", "juxtaposed"):
        arcs += _pointed_inches(unit.end, reading, name)
    return arcs


def _pointed_inches(end: int, reading: NumberReading, name: UnitName) -> list[Arc]:
    """Place the point in digits run off before "inches": one figure before it, or none after a zero."""
    digits = reading.digits
    if len(digits) < 3 or reading.places:
        return []
    places = len(digits) if digits[0] == "0" else len(digits) - 1
    value = Fraction(int(digits), 10**places) * (-1 if reading.value < 0 else 1)
    cost = 0.2 if len(digits) > 3 or digits[0] == "0" else 0.6
    return [Arc(end, reading._replace(places=places), value, name, reading.cost + name.cost + cost)]


def _predecessor_said(tokens: Sequence[Token], i: int, reading: NumberReading) -> float:
    """Weigh "first bolt twenty second bolt …": behind a "first" the "second" counts on by itself."""
    last = ORDINALS.get(tokens[reading.end - 1].norm, 0)
    earlier = tokens[max(0, i - _LONGEST_HEAD) : i]
    return _CUT if any(ORDINALS.get(token.norm) == last - 1 for token in earlier) else 0.0


def _misheard_digit(tokens: Sequence[Token], reading: NumberReading, figures: bool) -> list[Arc]:
    """Read "thirty for thou" as thirty four: before a unit no word but a number can stand there."""
    end = reading.end
    if end + 1 >= len(tokens) or tokens[end].norm not in _MISHEARD_DIGITS:
        return []
    if reading.style not in ("cardinal", "juxtaposed") or reading.value % 10 or not reading.value:
        return []
    repaired = reading._replace(
        value=reading.value + _MISHEARD_DIGITS[tokens[end].norm], end=end + 1, style="misprint", digits=""
    )
    return [
        Arc(unit.end, repaired, repaired.value, unit.name, reading.cost + unit.name.cost + _REPAIR)
        for unit in units_behind(tokens, repaired, figures)
        if not unit.name.foreign and unit.name.unit is not None
    ]


def _next_decimal_cost(tokens: Sequence[Token], i: int, reading: NumberReading) -> float:
    """Weigh where a decimal ends before another: "one point five one point six" ends at the "five"."""
    has_whole = len(reading.digits) > reading.places
    if has_whole and reading.end < len(tokens) and tokens[reading.end].norm in POINTS:
        return 1.0
    head = [token.norm for token in tokens[i : i + _LONGEST_HEAD]]
    for size, word in enumerate(head):
        if word in POINTS and size:
            following = [token.norm for token in tokens[reading.end : reading.end + size + 1]]
            return -1.0 if following == head[: size + 1] else 0.0
    return 0.0


def vague_amount_at(tokens: Sequence[Token], i: int) -> Vague | None:
    """Return "a couple of thou", "a few microns" at token ``i``; None where none starts."""
    if tokens[i].norm not in _VAGUE_STARTS:
        return None
    number_end = vague_number_end(tokens, i)
    if number_end is None:
        return None
    part = tokens[number_end].norm if number_end < len(tokens) else ""
    if part in _VAGUE_PARTS and [token.norm for token in tokens[number_end + 1 : number_end + 3]] == [
        "of",
        "a",
    ]:
        # "a few hundredths of a mil"
        names, end = unit_names_at(tokens, number_end + 3)
        if names and not names[0].foreign:
            return Vague(end, number_end, names[0])
    if part in ("thousandths", "thousandth"):
        return Vague(number_end + 1, number_end, _THOU)
    names, end = unit_names_at(tokens, number_end)
    return Vague(end, number_end, names[0]) if names and not names[0].foreign else None
