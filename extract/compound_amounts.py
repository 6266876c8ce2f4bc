"""Amounts in two pieces: "two thou and a half", "one inch sixty two thou", "an hour and ten"."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from extract.number_words import ARTICLES
from extract.numbers import NumberReading, is_number_word, numbers_at, proper_parts_at
from extract.spoken_units import UnitName, unit_names_at, units_after
from extract.tokens import Token

_MOST_INCHES = 24
#: One breath said as two: that is likelier than two amounts side by side.
_JOINED = -0.2
_AND = frozenset({"and", "&"})
_LESS = frozenset({"less", "minus"})
_LONGEST_PART = 5


class Join(NamedTuple):
    """What a number with its unit and the words behind it come to."""

    value: Fraction
    """In units as said."""
    end: int
    cost: float


class Amount(NamedTuple):
    """A whole amount."""

    value: Fraction
    end: int
    cost: float
    number: NumberReading
    unit: UnitName


def compounds(tokens: Sequence[Token], reading: NumberReading, name: UnitName, at: int) -> list[Join]:
    """Return what the words from ``at``, right behind a number with its unit, can add to it."""
    if at >= len(tokens):
        return []
    if at + 1 == len(tokens):
        last = (
            _minutes_behind_hours(tokens, reading, at)
            if name.said == "hour" and reading.value.denominator == 1
            else []
        )
        return last + _thou_behind_inches(tokens, reading, name, at)
    value, sign = reading.value, (-1 if reading.value < 0 else 1)
    joins = [Join(value + sign * part, end, _JOINED) for part, end in _part_behind_unit(tokens, at, name)]
    whole = value.denominator == 1
    if name.said == "thou" and whole:
        joins += _tenths_behind_thou(tokens, reading, at)
    if name.said == "hour" and whole:
        joins += _minutes_behind_hours(tokens, reading, at)
    if name.unit == "in":
        joins += _less(tokens, reading, name, at)
    return joins + _thou_behind_inches(tokens, reading, name, at)


def inch_and_part(tokens: Sequence[Token], i: int) -> list[Amount]:
    """Read "inch and a quarter", "thou and a half", said without their one, at ``i``."""
    if tokens[i].norm not in ("inch", "thou") or i + 1 >= len(tokens) or tokens[i + 1].norm != "and":
        return []
    if i and (tokens[i - 1].norm in ARTICLES or is_number_word(tokens[i - 1])):
        return []
    one = NumberReading(Fraction(1), i + 1, 0.0, "mixed")
    inch = UnitName("in", Fraction(1), "in", 0.0)
    unit = inch if tokens[i].norm == "inch" else unit_names_at(tokens, i)[0][0]
    return [Amount(1 + part, end, 0.2, one, unit) for part, end in _part_behind_unit(tokens, i + 1, unit)]


def hangs_on_unit(tokens: Sequence[Token], i: int) -> bool:
    """Tell whether "a half" here belongs to a unit before it ("[a] thou and a half", the "a" swallowed).

    Alone it would be read as half of what was said.
    """
    joint = i - 2 if i >= 3 and tokens[i - 1].norm == "a" else i - 1
    if joint < 1 or tokens[joint].norm not in _AND:
        return False
    parts = proper_parts_at(tokens, joint + 1)
    if not any(part.end > i and part.scale == "plain" for part in parts):
        return False
    names, end = unit_names_at(tokens, joint - 1)
    return bool(names) and end == joint


def _part_behind_unit(tokens: Sequence[Token], at: int, name: UnitName) -> list[tuple[Fraction, int]]:
    """Read "and a half" behind "two thou", "and three sixteenths" behind "one inch"."""
    joined = tokens[at].norm in _AND
    if not joined and name.said != "in":
        return []
    start = at + 1 if joined else at
    if start >= len(tokens):
        return []
    found: list[tuple[Fraction, int]] = []
    for part in proper_parts_at(tokens, start):
        if part.scale != "plain":
            continue
        if not joined and tokens[start].norm in (*ARTICLES, "half", "quarter"):
            continue
        if part.end < len(tokens) and units_after(tokens, part.end, part.value, "fraction", False):
            continue
        found.append((part.value, part.end))
    return found


def _tenths_behind_thou(tokens: Sequence[Token], reading: NumberReading, at: int) -> list[Join]:
    """Read "one thou and eight tenths": tenths of the same thou."""
    if tokens[at].norm != "and":
        return []
    joins: list[Join] = []
    for tenths in numbers_at(tokens, at + 1):
        if tenths.scale == "tenths" and tenths.value < 1:
            of_a_thou = [
                unit.end
                for unit in units_after(tokens, tenths.end, tenths.value, tenths.style, False)
                if unit.name.said == "thou"
            ]
            joins.append(
                Join(reading.value + tenths.value, of_a_thou[0] if of_a_thou else tenths.end, _JOINED)
            )
    return joins


def _minutes_behind_hours(tokens: Sequence[Token], reading: NumberReading, at: int) -> list[Join]:
    """Read "an hour and ten", "two hours and twenty minutes", "two hours ten"."""
    joined = tokens[at].norm == "and"
    if at + joined >= len(tokens):
        return []
    joins: list[Join] = []
    for minutes in numbers_at(tokens, at + joined):
        if minutes.style != "cardinal" or not (1 if joined else 5) <= minutes.value < 60:
            continue
        if minutes.end < len(tokens) and is_number_word(tokens[minutes.end]):
            continue
        units = units_after(tokens, minutes.end, minutes.value, minutes.style, False)
        end = units[0].end if units and units[0].name.said == "min" else minutes.end
        if (not units or end > minutes.end) and (joined or end == minutes.end):
            joins.append(Join(reading.value + minutes.value / 60, end, _JOINED))
    return joins


def _thou_behind_inches(
    tokens: Sequence[Token], reading: NumberReading, name: UnitName, at: int
) -> list[Join]:
    """Read "one inch (and) sixty two thou", and "one inch two thirty five" whose three figures are thou."""
    whole_inches = name.said == "in" and reading.value.denominator == 1 and 1 <= reading.value <= _MOST_INCHES
    if not whole_inches or at >= len(tokens):
        return []
    joins: list[Join] = []
    joined = tokens[at].norm in _AND and at + 1 < len(tokens)
    for thou in numbers_at(tokens, at + joined):
        if not 0 < thou.value < 1000:
            continue
        value = reading.value + thou.value / 1000
        if not joined and len(thou.digits) == 3 and thou.style in ("juxtaposed", "digit_run", "cardinal"):
            joins.append(Join(value, thou.end, 0.4 + thou.cost))
        if thou.style in ("cardinal", "juxtaposed", "mixed", "decimal"):
            joins += [
                Join(value, unit.end, _JOINED)
                for unit in units_after(tokens, thou.end, thou.value, thou.style, False)
                if unit.name.said == "thou"
            ]
    return joins


def _less(tokens: Sequence[Token], reading: NumberReading, name: UnitName, at: int) -> list[Join]:
    """Read "less twenty thou" behind a size, in the size's own unit."""
    if tokens[at].norm not in _LESS:
        return []
    return [
        Join(reading.value - number.value * unit.name.factor / name.factor, unit.end, _JOINED)
        for number in numbers_at(tokens, at + 1)
        for unit in units_after(tokens, number.end, number.value, number.style, False)
        if unit.name.unit == "in" and unit.name.factor < name.factor
    ]
