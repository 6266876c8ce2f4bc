"""What has to be asked, in words as one would ask them across a bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from shared.job_sheet import JobSheet
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    Entry,
    PartEntry,
    Question,
    ReadingEntry,
    StepEntry,
)
from shared.sheet_entries import words_of
from shared.units import SYMBOLS, decimal_text

_THOU_BELOW = Fraction(1, 4)


def questions_of(sheet: JobSheet, entries: Sequence[Entry]) -> list[Question]:
    """Return one question for each unsure entry, for each part that is not on the sheet one in all."""
    found: list[Question] = []
    asked_parts: set[str] = set()
    for entry in entries:
        if not entry.needs_review or entry.superseded_why == "struck":
            continue
        if isinstance(entry, ConditionEntry | PartEntry) and entry.unlisted:
            if entry.part in asked_parts:
                continue
            asked_parts.add(entry.part)
        found.append(
            Question(
                id=f"q{len(found) + 1}",
                text=_text(sheet, entry),
                about=entry.id,
                candidates=entry.candidates,
                evidence=entry.evidence,
                answered_by=entry.superseded_by,
            )
        )
    return found


def _text(sheet: JobSheet, entry: Entry) -> str:
    if isinstance(entry, ReadingEntry):
        return _reading(sheet, entry)
    if isinstance(entry, ConditionEntry):
        return _about_part(entry, f"{words_of(entry.condition)}, sure?")
    if isinstance(entry, PartEntry):
        return _about_part(entry, f"{entry.action}, sure?")
    if isinstance(entry, ConsumableEntry):
        return f"{words_of(entry.name)}: on what?"
    if isinstance(entry, StepEntry):
        return f"{words_of(entry.step)}: {entry.reason or 'done'}?"
    return f"{entry.reason or 'what was meant'}?"


def _about_part(entry: ConditionEntry | PartEntry, otherwise: str) -> str:
    name = words_of(entry.part)
    if entry.unlisted:
        return f"{name}: not on the sheet; which part is it?"
    parts = [c.part for c in entry.candidates if c.part is not None and c.part != entry.part]
    if parts:
        return f"{name} or {' or '.join(words_of(p) for p in parts)}?"
    return f"{name}: {otherwise}"


def _reading(sheet: JobSheet, entry: ReadingEntry) -> str:
    where = f", {sheet.spoken_positions(entry.position)[0]}" if entry.position else ""
    head = f"{words_of(entry.item)}{where}"
    values = list(dict.fromkeys(c.value_exact for c in entry.candidates if c.value_exact is not None))
    items = [c.item for c in entry.candidates if c.item is not None]
    positions = [c.position for c in entry.candidates if c.position is not None]
    if len(values) > 1:
        return f"{head}: {_or(spoken_value(v, entry.unit) for v in values)}?"
    if len(items) > 1:
        return f"{_value(entry)}: {_or(words_of(i) for i in items)}?"
    if positions and entry.position is None:
        return f"{head}: {_value(entry)} at which position?"
    if len(positions) > 1:
        places = _or(sheet.spoken_positions(p)[0] for p in positions)
        return f"{words_of(entry.item)}, {_value(entry)}: {places}?"
    return f"{head}: {_value(entry, values)}, {entry.reason or 'is that right'}?"


def _value(entry: ReadingEntry, values: Sequence[str] = ()) -> str:
    text = entry.value_exact or (values[0] if values else None)
    return spoken_value(text, entry.unit) if text is not None else "how much"


def _or(words: Iterable[str]) -> str:
    return " or ".join(dict.fromkeys(words))


def spoken_value(exact: str, unit: str) -> str:
    """Return a value as it is said: small lengths in inches in thou."""
    value = Fraction(exact)
    if unit == "in" and abs(value) < _THOU_BELOW:
        return f"{decimal_text(value * 1000)} thou"
    return f"{exact} {SYMBOLS[unit]}".strip()
