"""Advice beside a record: what the shop calculations say of its readings, never a decision.

Computed from sheet and record alone; nothing of it enters the record. Only readings that stand and are
sure are used: advice on a value that is itself a question would hide the question.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from extract.shop.method import Method
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry, RebuildRecord
from shared.sheet_entries import Fastener, Reading
from shared.units import SYMBOLS


@dataclass(frozen=True)
class Advice:
    """What one calculation says."""

    about: str
    """Item or part, snake_case."""
    text: str
    """Whole sentences."""
    method: Method
    entries: tuple[str, ...]
    """Ids of the entries that it uses."""
    ask: str = ""
    """What has to be asked before the pump goes back, in a few words; empty where nothing has to."""


def advice_of(sheet: JobSheet, record: RebuildRecord) -> tuple[Advice, ...]:
    """Return all advice on a record, in the order of the sheet.

    Args:
        sheet: the one that the record was made with.
        record: left as it is.
    """
    # Here and not above: these modules speak of Advice.
    from extract.shop.clearance_advice import clearance_advice
    from extract.shop.heating_advice import heating_advice
    from extract.shop.ring_advice import ring_advice
    from extract.shop.torque_advice import torque_advice
    from extract.shop.verdict_advice import verdict_advice
    from extract.shop.wear_advice import wear_advice

    found: list[Advice] = []
    for part in (clearance_advice, ring_advice, torque_advice, heating_advice, verdict_advice, wear_advice):
        found += part(sheet, record)
    return tuple(found)


def sure_readings(record: RebuildRecord, item: str) -> Iterator[ReadingEntry]:
    """Yield an item's readings that stand, are sure and have a value."""
    for entry in record.readings:
        if entry.item == item and entry.standing and not entry.needs_review and entry.value_exact is not None:
            yield entry


def exact_value(entry: ReadingEntry) -> Fraction:
    """Return a reading's value, in the sheet's unit."""
    return Fraction(entry.value_exact or 0)


def shown(value: Fraction | float, item: Reading | Fastener) -> str:
    """Return a value of an item for people: one decimal more than the sheet writes, and the unit."""
    written = [n for n in (item.nominal, item.lower, item.upper, item.uncertainty) if n is not None]
    decimals = max((_decimals(number) for number in written), default=3) + 1
    text = f"{float(value):.{decimals}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return f"{text if text not in ('-0', '') else '0'} {SYMBOLS[item.unit]}".rstrip()


def spoken_text(item: Reading | Fastener) -> str:
    """Return all that an item is called, as one text to look for words in."""
    return " | ".join([item.item.replace("_", " "), *item.spoken])


def _decimals(number: Decimal) -> int:
    return max(0, -int(number.as_tuple().exponent))
