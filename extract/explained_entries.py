"""Entries, commands and the talk before, written down for an explanation."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from extract.explanation import Explanation, Outcome
from extract.talk_context import TalkContext
from shared.job_sheet import JobSheet
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    Entry,
    EventEntry,
    NoteEntry,
    PartEntry,
    PhotoEntry,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
)
from shared.sheet_entries import words_of
from shared.units import SYMBOLS, shown_number

_WHY = {"corrected": "corrected", "measured_again": "measured again", "struck": "struck"}


def place_words(sheet: JobSheet, item: str, position: str | None) -> str:
    """Return an item and its place as they are called on the bench."""
    return words_of(item) + (f", {sheet.place_of(position, item)}" if position else "")


def context_lines(sheet: JobSheet, context: TalkContext) -> list[str]:
    """Return what the talk was about, a line a matter; empty where about nothing yet."""
    outset, lines = context.outset(), []
    if outset.item is not None:
        age = f" ({context.item_age} lines ago)" if context.item_age > 1 else ""
        lines.append(f"measured: {place_words(sheet, outset.item, outset.position)}{age}")
        carried = (outset.carried or {}).get(outset.item)
        lines += [f"unit said last for it: {carried.said}"] if carried is not None else []
    if outset.earlier:
        lines.append("measured before that: " + ", ".join(words_of(item) for item in outset.earlier))
    focus = context.focus()
    if focus is not None:
        lines.append("part: " + ", ".join(words_of(part) for part in focus[0]))
    if context.phase is not None:
        lines.append(f"stage: {words_of(context.phase)}")
    lines += [f"{words_of(kind)} in use: {gauge}" for kind, gauge in context.gauge.items()]
    return lines


def outcome_of_event(event: EventEntry) -> Outcome:
    """Return a command carried out."""
    of = f" of {words_of(event.part)}" if event.part else ""
    return Outcome("command", event.id, "filed", words_of(event.event) + of, event.evidence.rule)


def outcome_of_entry(sheet: JobSheet, entry: Entry, utterance: int) -> Outcome:
    """Return an entry that utterance number ``utterance`` made, or replaced."""
    kind, text = _kind_and_text(sheet, entry)
    why = _WHY.get(entry.superseded_why or "", "")
    if entry.evidence.utterance != utterance:
        return Outcome(
            kind, entry.id, "replaced", text, entry.evidence.rule, why, replaced_by=entry.superseded_by or ""
        )
    status = "asked" if entry.needs_review else "filed"
    return Outcome(
        kind,
        entry.id,
        status,
        text,
        entry.evidence.rule,
        entry.reason or "",
        replaced_by=entry.superseded_by or "",
    )


def _kind_and_text(sheet: JobSheet, entry: Entry) -> tuple[str, str]:
    if isinstance(entry, ReadingEntry):
        return "reading", _reading_text(sheet, entry)
    if isinstance(entry, ConditionEntry):
        where = f" {entry.location}" if entry.location else ""
        return "condition", f"{words_of(entry.part)}: {words_of(entry.condition)}{where}{_unlisted(entry)}"
    if isinstance(entry, PartEntry):
        count = f" ×{entry.quantity}" if entry.quantity is not None else ""
        serial = f", serial {entry.serial}" if entry.serial else ""
        return "part action", f"{words_of(entry.part)}: {entry.action}{count}{serial}{_unlisted(entry)}"
    if isinstance(entry, ConsumableEntry):
        return "consumable", words_of(entry.name) + (
            f" on {words_of(entry.applied_to)}" if entry.applied_to else ""
        )
    if isinstance(entry, StepEntry):
        witness = f", witness {entry.witness}" if entry.witness else ""
        return "step", f"{words_of(entry.step)}: {'done' if entry.done else 'left out'}{witness}"
    if isinstance(entry, PhotoEntry):
        return "picture", words_of(entry.of or "nobody said of what")
    assert isinstance(entry, NoteEntry)
    return "note", entry.text


def _unlisted(entry: ConditionEntry | PartEntry) -> str:
    return " (not on the sheet)" if entry.unlisted else ""


def _reading_text(sheet: JobSheet, entry: ReadingEntry) -> str:
    texts = [entry.value_exact] if entry.value_exact is not None else []
    texts = texts or list(dict.fromkeys(c.value_exact for c in entry.candidates if c.value_exact is not None))
    decimals = sheet.measured[entry.item].decimals
    shown = [f"{shown_number(text, decimals)} {SYMBOLS[entry.unit]}".rstrip() for text in texts]
    value = " or ".join(shown) + ("?" if entry.value_exact is None else "") if shown else "no value yet"
    stage = "" if entry.stage == "either" else f", {words_of(entry.stage)}"
    verdict = "" if entry.needs_review else f", {words_of(entry.verdict)}"
    return f"{place_words(sheet, entry.item, entry.position)}{stage}: {value}{verdict}"


def with_record(explained: Sequence[Explanation], record: RebuildRecord) -> None:
    """Add what only the whole record tells: questions, deviations, and what was replaced later on."""
    questions = {question.about: question.text for question in record.questions}
    entries: dict[str, Entry] = {
        entry.id: entry
        for group in (
            record.readings,
            record.conditions,
            record.parts,
            record.consumables,
            record.steps,
            record.notes,
        )
        for entry in group
    }
    for explanation in explained:
        for n, outcome in enumerate(explanation.outcomes):
            entry = entries.get(outcome.id)
            if entry is not None:
                explanation.outcomes[n] = replace(
                    outcome,
                    question=questions.get(outcome.id, "") if outcome.status == "asked" else "",
                    replaced_by=entry.superseded_by or "",
                )
        explanation.outcomes += [
            Outcome("deviation", d.id, "filed", d.text, d.evidence.rule)
            for d in record.deviations
            if d.evidence.utterance == explanation.utterance
        ]
