"""Amounts, what they may be worth and how they were put together, written down for an explanation."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from extract.corrections import Run
from extract.explanation import Amount, Link, Way, Worth
from extract.heard import Heard
from extract.placings import Item, Placing, span_of
from extract.quantity_arcs import Quantity
from extract.search_states import Filed, Found
from shared.job_sheet import JobSheet
from shared.units import SYMBOLS, decimal_text

_ITEM_FROM = {
    "said": "item said",
    "loose": "item said",
    "context": "item carried on",
    "earlier": "an earlier item, by its places",
    "kind": "item by its kind of unit",
    "stem": "item by the part named",
}
#: A number of four hundred digits is told by its first ones.
_LONGEST = 24


def amount_of(heard: Heard, quantity: Quantity) -> Amount:
    """Return one thing that a run of words can mean."""
    words = heard.words(quantity.start, quantity.end)
    unit = quantity.unit.said if quantity.unit is not None else None
    value = None if quantity.value is None else number_text(quantity.value)
    return Amount(words, value, unit, round(quantity.cost, 3), quantity.approximate)


def worth_of(heard: Heard, quantity: Quantity, item: Item, placing: Placing) -> Worth:
    """Return what a quantity may be worth for an item."""
    return Worth(
        heard.words(quantity.start, quantity.end),
        item.item,
        number_text(placing.value),
        item.unit,
        placing.how,
        round(placing.cost, 3),
        placing.plausible,
        range_text(item),
    )


def range_text(item: Item) -> str:
    """Return the plausible range of an item with its unit; empty where nothing tells it."""
    span = span_of(item)
    unit = SYMBOLS[item.unit]
    if span.least is not None and span.most is not None:
        return f"{span.least:.6g} to {span.most:.6g} {unit}".rstrip()
    if span.most is not None:
        return f"up to {span.most:.6g} {unit}".rstrip()
    return f"from {span.least:.6g} {unit}".rstrip() if span.least is not None else ""


def way_of(sheet: JobSheet, heard: Heard, run: Run, way: Found, accepted: Sequence[Filed] | None) -> Way:
    """Return one way to read a run; ``accepted``: its values that may stand, None where it was not taken."""
    links = tuple(_link(sheet, heard, filed) for filed in way.filed)
    refused = 0 if accepted is None else sum(filed not in accepted for filed in way.filed)
    words, cost = heard.words(run.start, run.end), round(way.cost, 3)
    return Way(words, cost, accepted is not None, links, run.corrects, refused)


def _link(sheet: JobSheet, heard: Heard, filed: Filed) -> Link:
    quantity = filed.quantity
    return Link(
        heard.words(quantity.start, quantity.end),
        filed.item,
        filed.position,
        None if quantity.value is None else number_text(filed.placing.value),
        sheet.measured[filed.item].unit,
        _ITEM_FROM.get(filed.source, filed.source),
    )


def number_text(value: Fraction) -> str:
    """Return a number as a decimal; one of hundreds of digits by its size."""
    if abs(value) >= 10**_LONGEST:
        return f"about 10^{len(str(abs(int(value)))) - 1}"
    return decimal_text(value)
