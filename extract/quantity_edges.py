"""Every quantity that can start at a token: each reading of the number, each unit behind it, repairs.

Costs are those of :mod:`extract.numbers`, raised where the amount is odd for its unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from extract.bench_talk import Talk
from extract.lone_numbers import stands_alone
from extract.number_words import ARTICLES, NUMBER_WORDS, POINTS, TEENS, TENS
from extract.numbers import NumberReading, numbers_at, proper_parts_at
from extract.plausible_amounts import oddity
from extract.spoken_quantity import Meaning
from extract.spoken_units import SpokenUnit, UnitName, units_after
from extract.tokens import Token

_NO_UNIT = 0.35
_CUT_SHORT = 1.5
_REPAIR = 2.0
_UNIT_LEFT = 3.0
_UNPOINTED = 1.5
_MOST_INCHES = 24
_LONGEST_HEAD = 8


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
    """Return every quantity that can start at token ``i``."""
    readings = numbers_at(tokens, i)
    if not readings:
        return _inch_alone(tokens, i, eaten)
    figures = tokens[i].text[0].isdecimal() or tokens[i].text[0] in ".-+"
    edges: list[Edge] = []
    longest = max((r.end for r in readings if r.style == "cardinal"), default=i)
    for reading in readings:
        if reading.style == "ordinal" or crosses(eaten, i, reading.end):
            continue
        if reading.style == "cardinal" and reading.end < longest and not crosses(eaten, i, longest):
            # "thirty" of "thirty one" leaves a piece behind that is said with it.
            reading = reading._replace(cost=reading.cost + _CUT_SHORT)
        if reading.style == "decimal":
            reading = reading._replace(cost=reading.cost + _next_decimal_cost(tokens, i, reading))
        units = _units(tokens, reading, figures, eaten)
        edges += _misheard_digit(tokens, i, reading, figures, eaten)
        if units and units[0].name.said == "count" and not stands_alone(tokens, i, reading):
            units = []
        for unit in units:
            edges += _with_unit(tokens, i, reading, unit, eaten, talk)
        edges += _implied(i, reading, talk, bool(units))
        if (
            reading.style != "article"
            and reading.scale in ("plain", "clock")
            and stands_alone(tokens, i, reading)
        ):
            edges.append(_bare(tokens, i, reading, talk, bool(units)))
    return _odd_among_rivals(edges)


def _inch_alone(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> list[Edge]:
    """Read "inch and a quarter", said without its one."""
    if tokens[i].norm != "inch" or i + 1 >= len(tokens) or tokens[i + 1].norm != "and":
        return []
    one = NumberReading(Fraction(1), i + 1, 0.0, "mixed")
    inch = UnitName("in", Fraction(1), "in", 0.0)
    return [
        _edge(i, end, one, inch, 1 + part, 0.2) for part, end in _part_behind_unit(tokens, i + 1, eaten, inch)
    ]


#: Digits by what recognisers print for them between a ten and a unit ("thirty for thou").
_MISHEARD_DIGITS = {"for": 4, "fore": 4, "to": 2, "too": 2, "won": 1, "ate": 8, "tree": 3, "sicks": 6}


def _misheard_digit(
    tokens: Sequence[Token], i: int, reading: NumberReading, figures: bool, eaten: frozenset[int]
) -> list[Edge]:
    """Read "thirty for thou" as thirty four: before a unit no word but a number can stand there."""
    end = reading.end
    if end + 1 >= len(tokens) or end in eaten or tokens[end].norm not in _MISHEARD_DIGITS:
        return []
    if reading.style not in ("cardinal", "juxtaposed") or reading.value % 10 or not reading.value:
        return []
    repaired = reading._replace(
        value=reading.value + _MISHEARD_DIGITS[tokens[end].norm], end=end + 1, style="misprint", digits=""
    )
    edges = [
        _edge(i, unit.end, repaired, unit.name, repaired.value, 0.2)
        for unit in _units(tokens, repaired, figures, eaten)
        if not unit.name.foreign and unit.name.unit is not None
    ]
    return [edge._replace(meaning=edge.meaning._replace(cost=edge.cost + _REPAIR)) for edge in edges]


def _odd_among_rivals(edges: list[Edge]) -> list[Edge]:
    """Let oddity choose among readings of the same tokens only: no number is cut to make it usual."""
    least: dict[int, float] = {}
    for edge in edges:
        least[edge.end] = min(edge.odd, least.get(edge.end, edge.odd))
    return [edge._replace(cost=edge.cost - least[edge.end]) if least[edge.end] else edge for edge in edges]


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


def crosses(eaten: frozenset[int], start: int, end: int) -> bool:
    """Tell whether any token from ``start`` to before ``end`` is eaten."""
    return bool(eaten) and any(k in eaten for k in range(start, end))


def _units(
    tokens: Sequence[Token], reading: NumberReading, figures: bool, eaten: frozenset[int]
) -> list[SpokenUnit]:
    if reading.end >= len(tokens) or reading.end in eaten:
        return []
    return units_after(tokens, reading.end, abs(reading.value), reading.style, figures)


#: How many of the named part make a whole: "thirty thousandths" was said as thirty of them.
SCALE_PARTS = {"tenths": 10, "hundredths": 100, "thousandths": 1000, "ten_thousandths": 10_000}


def _with_unit(
    tokens: Sequence[Token],
    i: int,
    reading: NumberReading,
    unit: SpokenUnit,
    eaten: frozenset[int],
    talk: Talk,
) -> list[Edge]:
    name = unit.name
    if reading.style == "juxtaposed" and len(reading.digits) == 4:
        reading = reading._replace(cost=reading.cost + _pair_oddity(tokens, i, reading, talk))
    edges = [_edge(i, unit.end, reading, name, reading.value, -1.0 if reading.scale == "clock" else 0.0)]
    if name.foreign:
        return edges
    for part, end in _part_behind_unit(tokens, unit.end, eaten, name):
        edges.append(
            _edge(i, end, reading, name, reading.value + (part if reading.value >= 0 else -part), -0.2)
        )
    if name.said == "thou" and reading.value.denominator == 1:
        edges += _tenths_behind_thou(tokens, i, reading, unit.end, eaten, name)
    if name.said == "hour":
        edges += _minutes_behind_hours(tokens, i, reading, unit.end, eaten, name)
    if name.said == "thou" and reading.places >= 3 and abs(reading.value) < 1:
        inches = UnitName("in", Fraction(1), "in", 0.8)
        edges.append(_edge(i, unit.end, reading, inches, reading.value, 0.0))
    if name.said == "in" and reading.value.denominator == 1 and 1 <= reading.value <= _MOST_INCHES:
        edges += _thou_behind_inches(tokens, i, reading, unit.end, eaten, name)
        edges += _said_thou_behind_inches(tokens, i, reading, unit.end, eaten, name)
    if name.unit == "in" and name.said == "in" and reading.style in ("digit_run", "mixed_run", "juxtaposed"):
        edges += _pointed_inches(i, unit.end, reading, name)
    return edges


def _tenths_behind_thou(
    tokens: Sequence[Token], i: int, reading: NumberReading, at: int, eaten: frozenset[int], name: UnitName
) -> list[Edge]:
    """Read "one thou and eight tenths": tenths of the same thou."""
    if at + 1 >= len(tokens) or tokens[at].norm != "and" or at + 1 in eaten:
        return []
    edges: list[Edge] = []
    for tenths in numbers_at(tokens, at + 1):
        if tenths.scale == "tenths" and tenths.value < 1 and not crosses(eaten, at, tenths.end):
            of_a_thou = [
                unit.end for unit in _units(tokens, tenths, False, eaten) if unit.name.said == "thou"
            ]
            end = of_a_thou[0] if of_a_thou else tenths.end
            edges.append(_edge(i, end, reading, name, reading.value + tenths.value, -0.2))
    return edges


def _minutes_behind_hours(
    tokens: Sequence[Token], i: int, reading: NumberReading, at: int, eaten: frozenset[int], name: UnitName
) -> list[Edge]:
    """Read "an hour and ten", "two hours and twenty minutes"."""
    if at + 1 >= len(tokens) or tokens[at].norm != "and" or at + 1 in eaten:
        return []
    edges: list[Edge] = []
    for minutes in numbers_at(tokens, at + 1):
        if minutes.style != "cardinal" or not 1 <= minutes.value < 60 or crosses(eaten, at, minutes.end):
            continue
        units = _units(tokens, minutes, False, eaten)
        end = units[0].end if units and units[0].name.said == "min" else minutes.end
        if not units or end > minutes.end:
            edges.append(_edge(i, end, reading, name, reading.value + minutes.value / 60, -0.2))
    return edges


def _thou_behind_inches(
    tokens: Sequence[Token], i: int, reading: NumberReading, at: int, eaten: frozenset[int], name: UnitName
) -> list[Edge]:
    """Read "one inch two thirty five": three figures behind whole inches are thousandths."""
    if at >= len(tokens) or at in eaten:
        return []
    return [
        _edge(i, thou.end, reading, name, reading.value + thou.value / 1000, 0.4)
        for thou in numbers_at(tokens, at)
        if thou.style in ("juxtaposed", "digit_run", "cardinal")
        and len(thou.digits) == 3
        and not crosses(eaten, at, thou.end)
    ]


def _said_thou_behind_inches(
    tokens: Sequence[Token], i: int, reading: NumberReading, at: int, eaten: frozenset[int], name: UnitName
) -> list[Edge]:
    """Read "one inch sixty two thou"."""
    if at >= len(tokens) or at in eaten:
        return []
    return [
        _edge(i, unit.end, reading, name, reading.value + thou.value / 1000, -0.2)
        for thou in numbers_at(tokens, at)
        if 0 < thou.value < 1000 and thou.style in ("cardinal", "juxtaposed", "mixed", "decimal")
        for unit in _units(tokens, thou, False, eaten)
        if unit.name.said == "thou"
    ]


def _pointed_inches(i: int, end: int, reading: NumberReading, name: UnitName) -> list[Edge]:
    """Place the point in digits run off before "inches": one figure before it, or none after a zero."""
    digits = reading.digits
    if len(digits) < 3 or reading.places:
        return []
    places = len(digits) if digits[0] == "0" else len(digits) - 1
    sign = -1 if reading.value < 0 else 1
    value = sign * Fraction(int(digits), 10**places)
    return [
        _edge(
            i,
            end,
            reading._replace(places=places),
            name,
            value,
            0.2 if len(digits) > 3 or digits[0] == "0" else 0.6,
        )
    ]


def _edge(i: int, end: int, reading: NumberReading, name: UnitName, number: Fraction, extra: float) -> Edge:
    parts = SCALE_PARTS.get(reading.scale, 1)
    value = number * name.factor
    number *= parts
    if name.said == "degC" and reading.scale != "plain":
        extra += 3
    if name.said == "in" and len(reading.digits) > 2 and reading.digits[0] == "0" and not reading.places:
        # "oh oh one five inches": nobody leads whole inches with a zero.
        extra += _UNPOINTED
    odd = oddity(value, name.unit, name.said, number)
    cost = reading.cost + name.cost + extra + odd
    meaning = Meaning(
        value, name.unit, name.said, cost, reading.style, number, reading.digits, reading.places
    )
    return Edge(i, end, cost, meaning, name.foreign, odd)


def _part_behind_unit(
    tokens: Sequence[Token], at: int, eaten: frozenset[int], name: UnitName
) -> list[tuple[Fraction, int]]:
    """Read "and a half" behind "two thou", "and three sixteenths" behind "one inch"."""
    if at + 1 >= len(tokens) or at in eaten:
        return []
    joined = tokens[at].norm in ("and", "&")
    if not joined and name.said != "in":
        return []
    start = at + 1 if joined else at
    found: list[tuple[Fraction, int]] = []
    for part in proper_parts_at(tokens, start):
        if part.scale != "plain" or crosses(eaten, start, part.end):
            continue
        if not joined and tokens[start].norm in (*ARTICLES, "half", "quarter"):
            continue
        if part.end < len(tokens) and units_after(tokens, part.end, part.value, "fraction", False):
            continue
        found.append((part.value, part.end))
    return found


def _implied(i: int, reading: NumberReading, talk: Talk, unit_said: bool) -> list[Edge]:
    """Give parts their unsaid unit: thousandths and tenths of the inch trade, hundredths of a millimetre."""
    names: list[UnitName] = []
    extra = 1.0 if unit_said else 0.0
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
    return [_edge(i, reading.end, reading, name, reading.value, extra) for name in names]


def _bare(tokens: Sequence[Token], i: int, reading: NumberReading, talk: Talk, unit_said: bool) -> Edge:
    value, places, cost = reading.value, reading.places, reading.cost + _NO_UNIT
    if unit_said:
        cost += _UNIT_LEFT
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
    before = i > 0 and tokens[i - 1].norm in NUMBER_WORDS
    rounds = first % 10 == 0 and second % 10 == 0
    return (1.4 if alike or rounds else 0.0) + (0.9 if more or before else 0.0)
