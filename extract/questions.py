"""What has to be asked, in words as one would ask them across a bench."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction

from shared.job_sheet import JobSheet
from shared.record import (
    Candidate,
    ConditionEntry,
    ConsumableEntry,
    Entry,
    PartEntry,
    Question,
    ReadingEntry,
    StepEntry,
)
from shared.sheet_entries import words_of
from shared.units import SYMBOLS, convert, decimal_text, shown_number

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
        return _about_part(entry, words_of(entry.condition))
    if isinstance(entry, PartEntry):
        return _about_part(entry, entry.action)
    if isinstance(entry, ConsumableEntry):
        return f"{words_of(entry.name)}: on what?"
    if isinstance(entry, StepEntry):
        return f"{words_of(entry.step)}: {entry.reason or 'done'}?"
    return f"{entry.reason or 'what was meant'}?"


def _about_part(entry: ConditionEntry | PartEntry, said: str) -> str:
    name = words_of(entry.part)
    if entry.unlisted:
        return f"{name}: not on the sheet; which part is it?"
    parts = [c.part for c in entry.candidates if c.part is not None and c.part != entry.part]
    if parts:
        return f"{said}: {_or(words_of(part) for part in (entry.part, *parts))}?"
    return f"{name}: {said}, sure?"


def _reading(sheet: JobSheet, entry: ReadingEntry) -> str:
    """Return one question for all that is doubtful of a reading: what it is of, where, how much."""
    together = [c for c in entry.candidates if (c.item or c.position) and c.value_exact is not None]
    if together:
        return f"{words_of(entry.item)}: {_or(_whole(sheet, entry, c) for c in entry.candidates)}?"
    values = _values(sheet, entry)
    items = list(dict.fromkeys(words_of(c.item) for c in entry.candidates if c.item is not None))
    places = _places(sheet, entry)
    value = _or(values) or "how much"
    item = _or(items) if len(items) > 1 else words_of(entry.item)
    if entry.position is None and places:
        return f"{item}: {value}, at which position?"
    place = f", {_or(places)}" if places else ""
    if len(values) > 1:
        return f"{item}{place}: {value}?"
    if len(items) > 1:
        return f"{value}{place}: {item}?"
    if len(places) > 1:
        return f"{item}, {value}: {_or(places)}?"
    # Nothing else is offered: what makes it doubtful has to be said.
    return f"{item}{place}: {value}?" + (f" ({entry.reason})" if entry.reason else "")


def _whole(sheet: JobSheet, entry: ReadingEntry, candidate: Candidate) -> str:
    """Return a candidate whose item or place goes with a value of its own: "shim pack 0.3 mm"."""
    item = candidate.item or entry.item
    said = [words_of(item)] if item != entry.item else []
    said += [sheet.place_of(candidate.position, item)] if candidate.position else []
    said += [_spoken(sheet, entry, candidate)] if candidate.value_exact is not None else []
    return " ".join(said) or "something else"


def _values(sheet: JobSheet, entry: ReadingEntry) -> list[str]:
    """Return what a reading may be, the likeliest first."""
    leading = Candidate(value_exact=entry.value_exact)
    return list(
        dict.fromkeys(
            _spoken(sheet, entry, c) for c in (leading, *entry.candidates) if c.value_exact is not None
        )
    )


def _spoken(sheet: JobSheet, entry: ReadingEntry, candidate: Candidate) -> str:
    item = sheet.measured.get(candidate.item or entry.item)
    unit = candidate.unit or entry.unit
    return spoken_value(
        candidate.value_exact or "0", unit, item.decimals if item is not None else 0, entry.said_unit
    )


def _places(sheet: JobSheet, entry: ReadingEntry) -> list[str]:
    """Return where a reading may belong, the likeliest first; nothing where the item has one place."""
    offered = [c for c in entry.candidates if c.position is not None]
    named = [p for p in (entry.position, *(c.position for c in offered)) if p is not None]
    places = [sheet.place_of(position, entry.item) for position in dict.fromkeys(named)]
    # A candidate that differs by nothing that has a name: heard without this place, too.
    elsewhere = offered and any(not c.model_dump(exclude_none=True) for c in entry.candidates)
    return [*places, "another place"] if elsewhere else places


def _or(words: Iterable[str]) -> str:
    return " or ".join(dict.fromkeys(words))


def spoken_value(exact: str, unit: str, decimals: int = 0, said_unit: str | None = None) -> str:
    """Return a value as one asks for it: small lengths in inches in thou, converted ones as they were said.

    Args:
        exact: the value, decimal.
        unit: its unit.
        decimals: how many the sheet writes.
        said_unit: the unit it was said in; only a conversion without an end (145 N·m in foot-pounds) is
            asked about in it.
    """
    value = Fraction(exact)
    if unit == "in" and abs(value) < _THOU_BELOW:
        return f"{shown_number(decimal_text(value * 1000))} thou"
    shown = f"{shown_number(exact, decimals)} {SYMBOLS[unit]}".strip()
    if said_unit in SYMBOLS and said_unit != unit and shown.startswith("≈"):
        said = f"{float(convert(value, unit, said_unit)):.6g}"
        return f"{said} {SYMBOLS[said_unit]} ({shown})"
    return shown
