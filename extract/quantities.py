"""Amounts in an utterance, with their units: the door for other programs, and the fuller one for us.

:func:`find_quantities` decides; :func:`read_quantities` keeps every interpretation with its cost,
for the record builder that knows the item, its limits and what is plausible.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from extract.approximations import hedge_of
from extract.bench_talk import Talk, talk_of
from extract.identifiers import identifier_tokens
from extract.lone_numbers import counts_things, pronoun_tokens
from extract.numbers import NumberReading, with_point_placed
from extract.open_units import settle_open_units
from extract.position_labels import label_tokens
from extract.quantity_edges import Edge
from extract.quantity_grammar import vague_amount_at
from extract.quantity_groups import group_quantities
from extract.quantity_lattice import cheapest_reading
from extract.sheet_amounts import amounts_of
from extract.spoken_quantity import Meaning, SpokenQuantity
from extract.tokens import Token, tokenize
from extract.tolerances import tolerance_tokens
from shared.job_sheet import JobSheet

_UNDECIDED = 0.35
_MOST_COUNTED = 24


class Quantity(NamedTuple):
    """An amount found in a text."""

    value: float | None
    """In ``unit``: the double nearest to what was said; None where nobody counted ("a couple of thou")."""
    unit: str | None
    """Of the closed list; thou and mils come out in inches. None where none was said, or where it
    stays open (pounds of torque or of pressure, degrees without a scale)."""
    span: tuple[int, int]
    """Characters of the text, first and after the last."""
    approximate: bool
    """Said to be about so much."""


def find_quantities(text: str, sheet: JobSheet | None = None) -> tuple[Quantity, ...]:
    """Return the amounts in a text, in its order.

    A range gives two, a tolerance its nominal and its width; a unit said once carries over a list;
    of a corrected value only the better one stays. Work orders, serials, positions, times of day
    and other names made of figures give none, nor do amounts in units outside the closed list.
    With a sheet, a bare number beside the name of an item takes the item's unit where only one
    reading of it is plausible.

    Total: any text, of any length.
    """
    tokens = tokenize(text)
    spoken = read_quantities(tokens, text=text, sheet=sheet)
    if sheet is not None:
        spoken = amounts_of(sheet).settle(tokens, spoken)
    return tuple(_decided(quantity) for quantity in spoken if quantity.role not in ("denied", "corrected"))


def read_quantities(
    text_or_tokens: str | Sequence[Token],
    *,
    eaten: frozenset[int] | None = None,
    text: str | None = None,
    sheet: JobSheet | None = None,
) -> tuple[SpokenQuantity, ...]:
    """Return the amounts of an utterance with all that each can mean, in order.

    ``eaten`` are the indexes of tokens that name positions or identifiers and so belong to no
    amount; without it the identifiers and labels that the words alone show are found here.
    ``text`` is what the tokens were cut from, for the words of each amount. From ``sheet`` only its
    unit of length is used, to lean "mil" and "tenths" one way.
    """
    tokens = tokenize(text_or_tokens) if isinstance(text_or_tokens, str) else text_or_tokens
    if isinstance(text_or_tokens, str):
        text = text_or_tokens
    if eaten is None:
        named = identifier_tokens(tokens)
        eaten = named | label_tokens(tokens, named)
    talk = talk_of(tokens, sheet.units.length if sheet is not None else None)
    eaten |= pronoun_tokens(tokens)
    if sheet is not None:
        eaten |= amounts_of(sheet).labels(tokens)
    blocked = eaten | tolerance_tokens(tokens)
    vague = _vague(tokens, text, blocked)
    blocked |= {k for quantity in vague for k in range(*quantity.tokens)}
    found = vague + [_spoken(tokens, text, edges) for edges in cheapest_reading(tokens, blocked, talk)]
    found.sort(key=lambda quantity: quantity.tokens)
    found = settle_open_units(tokens, found, talk)
    return tuple(group_quantities(tokens, found, eaten))


def _decided(quantity: SpokenQuantity) -> Quantity:
    if not quantity.meanings:
        return Quantity(None, quantity.vague_unit, quantity.span, True)
    best = quantity.meanings[0]
    unit = best.unit
    for rival in quantity.meanings[1:]:
        # Two units for one number, neither clearly likelier: the unit stays open.
        if (
            rival.unit != unit
            and rival.number == best.number
            and rival.cost - best.cost < _UNDECIDED
            and unit
        ):
            return Quantity(_double(best.number), None, quantity.span, quantity.approximate)
    return Quantity(_double(best.value), unit, quantity.span, quantity.approximate)


def _double(value: object) -> float | None:
    try:
        return float(value)  # type: ignore[arg-type]
    except OverflowError:
        return None


def _spoken(tokens: Sequence[Token], text: str | None, edges: Sequence[Edge]) -> SpokenQuantity:
    start, end = edges[0].start, edges[0].end
    meanings = [edge.meaning for edge in edges]
    for edge in edges:
        meanings += _placed(edge)
    best = edges[0].meaning
    return SpokenQuantity(
        span=(tokens[start].start, tokens[end - 1].end),
        tokens=(start, end),
        words=_words(tokens, text, start, end),
        meanings=tuple(_distinct([best, *sorted(meanings[1:], key=lambda m: m.cost)])),
        approximate=hedge_of(tokens, start, end).approximate,
        unit_from="said" if best.said_unit is not None else "none",
        counts=best.said_unit is None
        and best.number.denominator == 1
        and best.number <= _MOST_COUNTED
        and counts_things(tokens, end),
    )


def _placed(edge: Edge) -> list[Meaning]:
    """Return the bare run's other values, with the point at each place."""
    meaning = edge.meaning
    if meaning.said_unit is not None or len(meaning.digits) < 2 or meaning.style == "decimal":
        return []
    sign = -1 if meaning.number < 0 else 1
    whole = NumberReading(
        meaning.number * 0 + sign * int(meaning.digits),
        0,
        meaning.cost,
        meaning.style,
        "plain",
        meaning.digits,
        0,
    )
    if meaning.style == "mixed":
        return []
    return [
        meaning._replace(value=r.value, number=r.value, places=r.places, cost=r.cost)
        for r in with_point_placed(whole)
    ]


def _distinct(meanings: Sequence[Meaning]) -> list[Meaning]:
    seen: set[tuple[object, ...]] = set()
    kept: list[Meaning] = []
    for meaning in meanings:
        key = (meaning.value, meaning.unit, meaning.said_unit)
        if key not in seen:
            seen.add(key)
            kept.append(meaning)
    return kept


def _words(tokens: Sequence[Token], text: str | None, start: int, end: int) -> str:
    if text is not None:
        return text[tokens[start].start : tokens[end - 1].end]
    return " ".join(token.text for token in tokens[start:end])


def _vague(tokens: Sequence[Token], text: str | None, blocked: frozenset[int]) -> list[SpokenQuantity]:
    """Find "a couple of thou", "a few microns"."""
    taken: set[int] = set()
    vague: list[SpokenQuantity] = []
    for i in range(len(tokens)):
        amount = vague_amount_at(tokens, i)
        if amount is None or i in taken or any(k in blocked for k in range(i, amount.end)):
            continue
        vague.append(
            SpokenQuantity(
                (tokens[i].start, tokens[amount.end - 1].end), (i, amount.end),
                _words(tokens, text, i, amount.end), (), approximate=True, unit_from="said",
                vague_unit=amount.unit.unit,
            )
        )  # fmt: skip
        taken.update(range(i, amount.end))
    return vague


__all__ = ["Quantity", "Talk", "find_quantities", "read_quantities"]
