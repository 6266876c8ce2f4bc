"""Where the rebuild leaves the sheet: out of tolerance, against policy, a step left out, declared."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from extract.completeness import DECISIONS
from shared.job_sheet import JobSheet
from shared.record import DeviationEntry, Evidence, PartEntry, ReadingEntry, StepEntry
from shared.sheet_entries import Limits, words_of
from shared.units import SYMBOLS, shown_number

Declared = tuple[str | None, str | None, str | None, Evidence]
"""Item, part, position, evidence."""


def deviations_of(
    sheet: JobSheet,
    readings: Sequence[ReadingEntry],
    parts: Sequence[PartEntry],
    steps: Sequence[StepEntry],
    declared: Sequence[Declared],
) -> list[DeviationEntry]:
    """Return the deviations of standing entries, in the order of their evidence, with ids d1, d2 …"""
    found = [
        *_out_of_tolerance(sheet, readings),
        *_against_policy(sheet, parts),
        *_skipped(sheet, steps),
        *_declared(sheet, declared),
    ]
    found.sort(key=lambda d: d.evidence.utterance)
    for number, deviation in enumerate(found, 1):
        deviation.id = f"d{number}"
    return found


def _out_of_tolerance(sheet: JobSheet, readings: Sequence[ReadingEntry]) -> Iterable[DeviationEntry]:
    for reading in readings:
        if reading.standing and reading.verdict == "outside" and not reading.needs_review:
            item = sheet.measured[reading.item]
            unit = SYMBOLS[reading.unit]
            value = shown_number(reading.value_exact or "0", item.decimals)
            yield DeviationEntry(
                id="",
                evidence=_by(reading, "outside the limits of the sheet"),
                kind="out_of_tolerance",
                item=reading.item,
                position=reading.position,
                text=f"{_place(sheet, reading)}: {value} {unit}, {limits_text(item)}",
            )


def _by(entry: ReadingEntry | PartEntry | StepEntry, rule: str) -> Evidence:
    """Return an entry's evidence under the rule that holds it against the sheet, and its own."""
    return entry.evidence.model_copy(update={"rule": f"deviation: {rule}; {entry.evidence.rule}"})


def limits_text(item: Limits) -> str:
    """Return an item's limits in words: "allowed 0.012 to 0.024 in"."""
    unit = SYMBOLS[item.unit]
    if item.lower is not None and item.upper is not None:
        return f"allowed {_plain(item.lower)} to {_plain(item.upper)} {unit}".rstrip()
    if item.upper is not None:
        return f"allowed up to {_plain(item.upper)} {unit}".rstrip()
    if item.lower is not None:
        return f"allowed from {_plain(item.lower)} {unit}".rstrip()
    return "no limit"


def _plain(value: Decimal) -> str:
    return format(value, "f")


def _place(sheet: JobSheet, reading: ReadingEntry) -> str:
    where = f", {sheet.place_of(reading.position, reading.item)}" if reading.position else ""
    return f"{words_of(reading.item)}{where}"


def _against_policy(sheet: JobSheet, parts: Sequence[PartEntry]) -> Iterable[DeviationEntry]:
    last: dict[str, PartEntry] = {}
    for entry in parts:
        if (
            entry.standing
            and not entry.needs_review
            and entry.action in DECISIONS
            and entry.part in sheet.part_names
        ):
            last[entry.part] = entry
    for name, entry in last.items():
        if entry.action == "reused" and sheet.part_names[name].policy == "renew":
            yield DeviationEntry(
                id="",
                evidence=_by(entry, "reused where the sheet wants it renewed"),
                kind="against_policy",
                part=name,
                text=f"{words_of(name)}: reused; the sheet wants it renewed",
            )


def _skipped(sheet: JobSheet, steps: Sequence[StepEntry]) -> Iterable[DeviationEntry]:
    last: dict[str, StepEntry] = {}
    for entry in steps:
        if entry.standing:
            last[entry.step] = entry
    for name, entry in last.items():
        if not entry.done:
            yield DeviationEntry(
                id="",
                evidence=_by(entry, "a step of the sheet left out"),
                kind="skipped_step",
                text=f"{words_of(name)}: left out",
            )


def _declared(sheet: JobSheet, declared: Sequence[Declared]) -> Iterable[DeviationEntry]:
    for item, part, position, evidence in declared:
        name = words_of(item or part or "deviation")
        where = f", {sheet.place_of(position, item)}" if position else ""
        yield DeviationEntry(
            id="",
            evidence=evidence,
            kind="declared",
            item=item,
            part=part,
            position=position,
            text=f"{name}{where}: declared by the technician",
        )
