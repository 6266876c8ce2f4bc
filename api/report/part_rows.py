"""Parts, conditions, consumables and steps as the report shows them."""

from __future__ import annotations

from api.report.view import ConsumableRow, FindingRow, Heard, PartRow, StepRow
from api.report.wording import NOT_SAID, heard_at, item_words
from shared.job_sheet import JobSheet
from shared.record import ConditionEntry, PartEntry, RebuildRecord
from shared.sheet_entries import Part, words_of

_NOT_ON_SHEET = "not on the sheet"


def finding_rows(record: RebuildRecord) -> list[FindingRow]:
    """Return every standing condition in the order it was said."""
    return [
        FindingRow(
            part=_named(entry),
            condition=words_of(entry.condition),
            location=entry.location or "",
            heard=heard_at(record, entry.evidence),
            doubt=entry.reason or "" if entry.needs_review else "",
        )
        for entry in record.conditions
        if entry.standing
    ]


def part_rows(record: RebuildRecord, sheet: JobSheet) -> list[PartRow]:
    """Return the sheet's parts that a decision is wanted on or was said of, then the unlisted ones."""
    said: dict[str, list[PartEntry]] = {}
    for entry in record.parts:
        if entry.standing:
            said.setdefault(entry.part, []).append(entry)
    rows: list[PartRow] = []
    wanted = {missing.part for missing in record.missing if missing.kind == "part_decision"}
    for part in sheet.parts:
        if part.part in said:
            rows.append(_said_row(record, said.pop(part.part), part, part.part in wanted))
        elif part.decide:
            rows.append(_unsaid_row(sheet, part, said))
    rows += [_said_row(record, entries, sheet.part_names.get(name)) for name, entries in said.items()]
    return rows


def consumable_rows(record: RebuildRecord) -> list[ConsumableRow]:
    """Return every standing consumable in the order it was said."""
    return [
        ConsumableRow(
            name=item_words(entry.name),
            applied_to=item_words(entry.applied_to),
            heard=heard_at(record, entry.evidence),
            doubt=entry.reason or "" if entry.needs_review else "",
        )
        for entry in record.consumables
        if entry.standing
    ]


def step_rows(record: RebuildRecord, sheet: JobSheet) -> list[StepRow]:
    """Return the sheet's steps in order, said or not."""
    said = {entry.step: entry for entry in record.steps if entry.standing}
    rows: list[StepRow] = []
    for step in sheet.steps:
        entry = said.get(step.step)
        if entry is None and not step.required:
            continue
        if entry is None:
            state, symbol = NOT_SAID, "○"
        elif entry.needs_review:
            state, symbol = entry.reason or "to be asked", "?"
        else:
            state, symbol = ("done", "✓") if entry.done else ("left out", "✗")
        witness = (entry.witness if entry and entry.witness else "no witness named") if step.hold else ""
        heard = heard_at(record, entry.evidence) if entry else Heard("", "")
        rows.append(StepRow(item_words(step.step), symbol, state, witness, heard))
    return rows


def _named(entry: ConditionEntry | PartEntry) -> str:
    return item_words(entry.part) + (f" ({_NOT_ON_SHEET})" if entry.unlisted else "")


def _said_row(
    record: RebuildRecord, entries: list[PartEntry], part: Part | None, wanted: bool = False
) -> PartRow:
    last = entries[-1]
    quantity = next((e.quantity for e in reversed(entries) if e.quantity is not None), None)
    decided = any(e.action in ("renewed", "reused") for e in entries)
    decided = any(e.action in ("renewed", "reused") for e in entries)
    doubts = [e.reason for e in entries if e.needs_review and e.reason]
    return PartRow(
        part=_named(last),
        policy=part.policy if part else "",
        decision=", ".join(dict.fromkeys(e.action for e in entries)),
        stock_number=(part.stock_number or "") if part else "",
        quantity=str(quantity or (part.quantity if part else "")),
        heard=heard_at(record, last.evidence),
        serial=next((e.serial for e in reversed(entries) if e.serial), ""),
        doubt="; ".join(dict.fromkeys(doubts)),
        undecided=f"renewed or reused {NOT_SAID}" if wanted and not decided else "",
    )


def _unsaid_row(sheet: JobSheet, part: Part, said: dict[str, list[PartEntry]]) -> PartRow:
    whole = next((p for p in said if part.part in sheet.covered_by(p)), None)
    decision = f"with the {words_of(whole)}" if whole else NOT_SAID
    return PartRow(
        item_words(part.part),
        part.policy,
        decision,
        part.stock_number or "",
        str(part.quantity),
        Heard("", ""),
    )
