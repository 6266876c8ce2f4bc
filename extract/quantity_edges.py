"""What each amount of the grammar costs where no job sheet tells what is measured.

The amounts are those of :mod:`extract.quantity_grammar`; here they are priced by how usual they are at a
bench and by what the utterance is about, and parts without a unit are given the trade's own.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from extract.bench_talk import Talk
from extract.lone_numbers import stands_alone
from extract.number_cuts import split_cost
from extract.number_words import NUMBER_WORDS, TEENS, TENS
from extract.numbers import NumberReading
from extract.plausible_amounts import oddity
from extract.quantity_grammar import UNIT_LEFT, Arc, arcs_at
from extract.spoken_quantity import Meaning
from extract.spoken_units import UnitName
from extract.tokens import Token

_NO_UNIT = 0.35
_UNPOINTED = 1.5
#: Below this a cut is how people string values together, for which a price is paid for each already.
_LEAST_CUT = 0.5
_METRES = 20
_OF_TENS = frozenset({"ft_lb", "in_lb", "N_m", "psi", "kPa", "degF", "rpm"})
_TORQUES = frozenset({"ft_lb", "in_lb", "N_m"})
#: How many of the named part make a whole: "thirty thousandths" was said as thirty of them.
SCALE_PARTS = {"tenths": 10, "hundredths": 100, "thousandths": 1000, "ten_thousandths": 10_000}


class Edge(NamedTuple):
    """One quantity that may stand on the tokens from ``start`` to ``end``."""

    start: int
    end: int
    cost: float
    meaning: Meaning
    foreign: bool = False
    odd: float = 0.0
    """How much of the cost is the oddity of the amount."""


def edges_at(tokens: Sequence[Token], i: int, eaten: frozenset[int], talk: Talk) -> list[Edge]:
    """Return every quantity that can start at token ``i`` and touches no eaten token."""
    arcs = arcs_at(tokens, i)
    if not arcs:
        return []
    edges: list[Edge] = []
    for arc in arcs:
        if eaten and _touches(eaten, i, arc):
            continue
        cut = 0.0 if arc.end in eaten else _cut_cost(tokens, arc)
        if arc.unit is not None:
            if arc.unit.said == "count" and not stands_alone(tokens, i, arc.number):
                continue
            edges.append(_united(tokens, i, arc, cut, talk))
            continue
        if arc.number.style == "ordinal":
            # "The twenty second vane" is read, so that no piece of it stands alone; it is no amount.
            edges.append(Edge(i, arc.end, arc.cost, _ordinal(arc), True))
            continue
        if arc.leaves_unit and arc.end in eaten:
            arc = arc._replace(cost=arc.cost - UNIT_LEFT, leaves_unit=False)
        edges += _implied(i, arc, cut, talk)
        if arc.number.scale in ("plain", "clock") and stands_alone(tokens, i, arc.number):
            edges.append(_bare(tokens, i, arc, cut, talk))
    return _odd_among_rivals(edges)


def _cut_cost(tokens: Sequence[Token], arc: Arc) -> float:
    """Price an amount that ends inside a run: "thirty" of "thirty one"; "five, six" is no cut of one."""
    if arc.number.style in ("fraction", "mixed"):
        return 0.0
    cost = split_cost(tokens, arc.end)
    return cost if cost >= _LEAST_CUT else 0.0


def _touches(eaten: frozenset[int], i: int, arc: Arc) -> bool:
    """Tell whether eaten tokens belong to an amount; the letters of a unit ("mm / s") are no name."""
    if arc.unit is None or arc.value != arc.number.value:
        return crosses(eaten, i, arc.end)
    return crosses(eaten, i, arc.number.end + 1)


def crosses(eaten: frozenset[int], start: int, end: int) -> bool:
    """Tell whether any token from ``start`` to before ``end`` is eaten."""
    return bool(eaten) and any(k in eaten for k in range(start, end))


def _odd_among_rivals(edges: list[Edge]) -> list[Edge]:
    """Let oddity choose among readings of the same tokens only: no number is cut to make it usual."""
    least: dict[int, float] = {}
    for edge in edges:
        least[edge.end] = min(edge.odd, least.get(edge.end, edge.odd))
    return [edge._replace(cost=edge.cost - least[edge.end]) if least[edge.end] else edge for edge in edges]


def _united(tokens: Sequence[Token], i: int, arc: Arc, extra: float, talk: Talk) -> Edge:
    number = arc.number
    if number.style == "juxtaposed" and len(number.digits) == 4:
        extra += _pair_oddity(tokens, i, number, talk)
    if number.scale == "clock":
        extra -= 1.0
    assert arc.unit is not None
    two = number.style == "digit_run" and len(number.digits) == 2 and number.digits[0] != "0"
    if two and arc.unit.unit in _OF_TENS:
        # "Seven four foot pounds": two such values in one breath are never so small.
        extra -= 0.6
    return _edge(i, arc.end, number, arc.unit, arc.value, arc.cost + extra + _print_doubt(number, arc.unit))


def _print_doubt(number: NumberReading, name: UnitName) -> float:
    """Weigh figures that a recogniser may have pointed, or a comma that may stand for the point."""
    if number.style == "misprint" and number.places:
        # "7,245 millimetres" may well be so many; inches never are, nor is anything here 20 metres long.
        small = name.unit == "mm" and number.value < _METRES
        return 1.5 if small or name.unit not in ("in", "mm") else 0.0
    run_on = number.style == "decimal" and number.places == 2 and number.digits[-1:] == "0"
    if run_on and len(number.digits) == 3 and name.unit in _TORQUES:
        # "1.80 newton metres" was said "one eighty": nobody says the nought.
        return 2.2
    return 0.0


def _edge(i: int, end: int, reading: NumberReading, name: UnitName, number: Fraction, cost: float) -> Edge:
    value = number * name.factor
    number *= SCALE_PARTS.get(reading.scale, 1)
    if name.said == "degC" and reading.scale != "plain":
        cost += 3
    if name.said == "in" and len(reading.digits) > 2 and reading.digits[0] == "0" and not reading.places:
        # "oh oh one five inches": nobody leads whole inches with a zero.
        cost += _UNPOINTED
    odd = oddity(value, name.unit, name.said, number)
    cost += odd
    meaning = Meaning(
        value, name.unit, name.said, cost, reading.style, number, reading.digits, reading.places
    )
    return Edge(i, end, cost, meaning, name.foreign, odd)


def _ordinal(arc: Arc) -> Meaning:
    return Meaning(arc.value, None, None, arc.cost, "ordinal", arc.value)


def _implied(i: int, arc: Arc, extra: float, talk: Talk) -> list[Edge]:
    """Give parts their unsaid unit: thousandths and tenths of the inch trade, hundredths of a millimetre."""
    reading = arc.number
    names: list[UnitName] = []
    if arc.leaves_unit:
        extra += 1.0 - UNIT_LEFT
    if reading.scale in ("thousandths", "ten_thousandths"):
        names = [UnitName("in", Fraction(1), "thou", 0.0), UnitName("mm", Fraction(1), "mm", 2.5)]
        if talk.metric and not talk.inch and reading.style == "misprint":
            return []
    elif reading.scale == "tenths":
        inch, metric = (0.9, 0.2) if talk.metric and not talk.inch else (0.2, 0.9)
        names = [
            UnitName("in", Fraction(1, 1000), "tenths", inch),
            UnitName("mm", Fraction(1), "tenths", metric),
        ]
    elif reading.scale == "hundredths":
        open_cost, metric = (0.9, 0.2) if talk.metric else (0.2, 0.6)
        names = [
            UnitName(None, Fraction(1), "hundredths", open_cost),
            UnitName("mm", Fraction(1), "hundredths", metric),
        ]
    return [
        _edge(i, reading.end, reading, name, reading.value, arc.cost + name.cost + extra) for name in names
    ]


def _bare(tokens: Sequence[Token], i: int, arc: Arc, extra: float, talk: Talk) -> Edge:
    reading = arc.number
    value, places, cost = reading.value, reading.places, arc.cost + _NO_UNIT + extra
    digits = reading.digits
    if reading.style in ("digit_run", "mixed_run", "juxtaposed", "cardinal") and not places:
        placed = _bare_places(tokens, i, reading, talk)
        if placed is not None:
            sign = -1 if value < 0 else 1
            value, places = sign * Fraction(int(digits), 10**placed), placed
    if reading.style == "juxtaposed" and len(digits) == 4:
        cost += _pair_oddity(tokens, i, reading, talk)
    if reading.style == "mixed_run" and len(digits) == 4 and talk.speed:
        cost -= 1.5
    if reading.scale == "clock":
        cost += 1.5
    if reading.end < len(tokens) and tokens[reading.end].norm == "second":
        cost += 0.6
    odd = oddity(value, None, None, value)
    cost += odd
    meaning = Meaning(value, None, None, cost, reading.style, value, digits, places)
    return Edge(i, reading.end, cost, meaning, False, odd)


def _bare_places(tokens: Sequence[Token], i: int, reading: NumberReading, talk: Talk) -> int | None:
    """Tell where the unsaid point of a bare run of digits stands, where the run shows it."""
    digits = reading.digits
    if len(digits) >= 3 and digits[0] == "0":
        return len(digits)
    if len(digits) == 5 and reading.style == "mixed_run" and digits[2] == "0" and digits[0] != "0":
        # Nobody runs a whole number on so: "fifty five oh one two" is a size.
        return 3
    long_enough = (len(digits) == 5 and (talk.sizing or talk.inch)) or (
        len(digits) == 4 and talk.sizing and not talk.speed
    )
    if long_enough and reading.style in ("digit_run", "mixed_run", "juxtaposed") and digits[0] != "0":
        # "forty five oh one one" has its point behind the forty five.
        before = 2 if len(digits) == 5 and (tokens[i].norm in TENS or tokens[i].norm in TEENS) else 1
        return len(digits) - before
    if long_enough and reading.style == "cardinal" and talk.sizing and len(digits) == 5:
        return len(digits) - 1
    return None


def _pair_oddity(tokens: Sequence[Token], i: int, reading: NumberReading, talk: Talk) -> float:
    """Weigh "thirty thirty one": a list of like values, unless it is talk of speed ("twenty nine fifty")."""
    if talk.speed:
        return -0.3
    first, second = int(reading.digits[:2]), int(reading.digits[2:])
    alike = abs(first - second) * 3 <= max(first, second)
    at = reading.end + (reading.end < len(tokens) and tokens[reading.end].norm in ("and", ","))
    more = at < len(tokens) and tokens[at].norm in (*TENS, *TEENS)
    # "Not fifteen fifty thou" denies the first of two.
    before = i > 0 and (tokens[i - 1].norm in NUMBER_WORDS or tokens[i - 1].norm == "not")
    rounds = first % 10 == 0 and second % 10 == 0
    return (1.4 if alike or rounds else 0.0) + (0.9 if more or before else 0.0)
