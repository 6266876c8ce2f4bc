"""What was found on pumps, for spreadsheets and other programs; with ISO 14224 columns where wanted."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.archive.filed_rows import entry_rows
from api.exports.spreadsheet_cells import guarded
from api.history.iso14224 import IsoTerm, mechanism_of, mechanism_of_reading, possible_mode
from api.history.rebuilds import Rebuild
from api.store.archive_tables import ArchivedEntry, ArchivedUtterance
from api.store.asked_at_once import at_once
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord
from shared.units import KIND_OF_UNIT

COLUMNS = (
    "pump_tag", "pump_serial", "sheet", "work_order", "started", "running_hours", "finding", "part", "item",
    "position", "condition", "value", "unit", "verdict", "disposition", "text",
    "words",
)  # fmt: skip
ISO_COLUMNS = (
    "iso14224_mechanism", "iso14224_mechanism_notation", "iso14224_mapping", "iso14224_mode_to_ask_about",
    "iso14224_mode_mapping",
)  # fmt: skip


Finding = dict[str, Any]
"""One line by its columns: texts as they were said, numbers, None where there is nothing."""


def findings_csv(
    session: Session, rebuilds: Sequence[Rebuild], sheets: dict[str, JobSheet], *, iso: bool = False
) -> str:
    """Return one line a finding: conditions, readings outside their limits, deviations.

    Args:
        session: any.
        rebuilds: whose; in the order of the table.
        sheets: by id, for what a reading measures.
        iso: with the columns of ISO 14224; a mechanism is given, a mode only named as one to ask about.
    """
    return as_table(_of_rebuilds(session, rebuilds, sheets, iso=iso), iso=iso)


def findings_of(record: RebuildRecord, sheet: JobSheet, *, iso: bool = False) -> list[Finding]:
    """Return the findings of one record, which need not be in any archive; arguments as above.

    Hours on the pump's meter stand in no record.
    """
    job = record.job
    common = {
        "pump_tag": job.pump_tag, "pump_serial": job.pump_serial, "sheet": job.sheet_id or sheet.id,
        "work_order": job.work_order, "started": job.started, "running_hours": None,
    }  # fmt: skip
    said = {one.id: one.evidence.words for one in (*record.entries(), *record.deviations)}
    found = []
    for row in entry_rows(record):
        entry = ArchivedEntry(**row)
        if _is_finding(entry):
            found.append(_line(common, entry, said.get(entry.entry_id, ""), sheet, iso=iso))
    return found


def as_table(findings: Iterable[Finding], *, iso: bool = False) -> str:
    """Return findings as a table that spreadsheets take (RFC 4180); nothing in it is a formula.

    Args:
        findings: one a line.
        iso: whether they have the columns of ISO 14224.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    columns = [*COLUMNS, *(ISO_COLUMNS if iso else ())]
    table.writerow(columns)
    table.writerows([_cell(one[column]) for column in columns] for one in findings)
    return out.getvalue()


def _of_rebuilds(
    session: Session, rebuilds: Sequence[Rebuild], sheets: dict[str, JobSheet], *, iso: bool
) -> Iterator[Finding]:
    for some in at_once(rebuilds):
        entries = _entries(session, [one.record_id for one in some])
        for rebuild in some:
            common = {
                "pump_tag": rebuild.name.tag, "pump_serial": rebuild.serial, "sheet": rebuild.sheet_id,
                "work_order": rebuild.work_order, "running_hours": rebuild.hours,
                "started": rebuild.at.isoformat(timespec="seconds") if rebuild.at else None,
            }  # fmt: skip
            for entry, words in entries.get(rebuild.record_id, ()):
                yield _line(common, entry, words, sheets.get(rebuild.sheet_id), iso=iso)


def _entries(session: Session, ids: Sequence[int]) -> dict[int, list[tuple[ArchivedEntry, str]]]:
    """Return the findings of records with the words that they were made of."""
    entry, said = ArchivedEntry, ArchivedUtterance
    outside = (entry.kind == "reading") & (entry.verdict == "outside")
    wanted = (
        select(entry, said.words)
        .outerjoin(said, (said.record_id == entry.record_id) & (said.number == entry.utterance))
        .where(
            entry.record_id.in_(ids), entry.fate.is_(None), entry.needs_review.is_(False),
            entry.kind.in_(("condition", "deviation")) | outside,
        )
        .order_by(entry.id)
    )  # fmt: skip
    found: dict[int, list[tuple[ArchivedEntry, str]]] = {}
    for one, words in session.execute(wanted):
        found.setdefault(one.record_id, []).append((one, words or ""))
    return found


def _is_finding(entry: ArchivedEntry) -> bool:
    """Tell of an entry what :func:`_entries` asks the database for."""
    outside = entry.kind == "reading" and entry.verdict == "outside"
    stands = entry.fate is None and not entry.needs_review
    return stands and (outside or entry.kind in ("condition", "deviation"))


def _line(common: Finding, entry: ArchivedEntry, words: str, sheet: JobSheet | None, *, iso: bool) -> Finding:
    line: Finding = {
        **common, "finding": entry.what if entry.kind == "deviation" else entry.kind, "part": entry.part,
        "item": entry.item, "position": entry.position,
        "condition": entry.what if entry.kind == "condition" else None, "value": entry.value,
        "unit": entry.unit, "verdict": entry.verdict, "disposition": entry.disposition, "text": entry.text,
        "words": words or None,
    }  # fmt: skip
    return line | dict(zip(ISO_COLUMNS, _iso(entry, sheet), strict=True)) if iso else line


def _cell(value: Any) -> str:
    if value is None:
        return ""
    return guarded(value) if isinstance(value, str) else f"{value:.10g}"


def _iso(entry: ArchivedEntry, sheet: JobSheet | None) -> list[str | None]:
    mechanism: IsoTerm | None = None
    if entry.kind == "condition":
        mechanism = mechanism_of(entry.what or "")
    elif entry.kind == "reading":
        item = sheet.measured.get(entry.item or "") if sheet else None
        kind = item.measured_kind if item else KIND_OF_UNIT.get(entry.unit or "")
        mechanism = mechanism_of_reading(kind)
    mode = possible_mode(entry.part or "") if mechanism and entry.part else None
    return [
        *((mechanism.code, mechanism.notation, mechanism.flag) if mechanism else (None, None, None)),
        *((mode.code, mode.flag) if mode else (None, None)),
    ]
