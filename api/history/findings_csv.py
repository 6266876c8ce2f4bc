"""What was found on pumps, as a table for spreadsheets; with ISO 14224 columns where somebody wants them."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.exports.spreadsheet_cells import guarded
from api.history.iso14224 import IsoTerm, mechanism_of, mechanism_of_reading, possible_mode
from api.history.rebuilds import Rebuild
from api.store.archive_tables import ArchivedEntry
from api.store.asked_at_once import at_once
from shared.job_sheet import JobSheet
from shared.units import KIND_OF_UNIT

COLUMNS = (
    "pump_tag", "pump_serial", "sheet", "work_order", "started", "running_hours", "finding", "part", "item",
    "position", "condition", "value", "unit", "verdict", "disposition", "words",
)  # fmt: skip
ISO_COLUMNS = (
    "iso14224_mechanism", "iso14224_mechanism_notation", "iso14224_mapping", "iso14224_mode_to_ask_about",
    "iso14224_mode_mapping",
)  # fmt: skip


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
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow([*COLUMNS, *(ISO_COLUMNS if iso else ())])
    for some in at_once(rebuilds):
        entries = _entries(session, [one.record_id for one in some])
        for rebuild in some:
            for entry in entries.get(rebuild.record_id, ()):
                row = _row(rebuild, entry)
                table.writerow([*row, *(_iso(entry, sheets.get(rebuild.sheet_id)) if iso else ())])
    return out.getvalue()


def _entries(session: Session, ids: Sequence[int]) -> dict[int, list[ArchivedEntry]]:
    outside = (ArchivedEntry.kind == "reading") & (ArchivedEntry.verdict == "outside")
    wanted = select(ArchivedEntry).where(
        ArchivedEntry.record_id.in_(ids), ArchivedEntry.fate.is_(None), ArchivedEntry.needs_review.is_(False),
        ArchivedEntry.kind.in_(("condition", "deviation")) | outside,
    ).order_by(ArchivedEntry.id)  # fmt: skip
    found: dict[int, list[ArchivedEntry]] = {}
    for one in session.scalars(wanted):
        found.setdefault(one.record_id, []).append(one)
    return found


def _row(rebuild: Rebuild, entry: ArchivedEntry) -> list[str]:
    condition = entry.what if entry.kind == "condition" else ""
    hours = "" if rebuild.hours is None else f"{rebuild.hours:.10g}"
    value = "" if entry.value is None else f"{entry.value:.10g}"
    texts = [
        rebuild.name.tag, rebuild.serial, rebuild.sheet_id, rebuild.work_order,
        rebuild.at.isoformat(timespec="seconds") if rebuild.at else "",
    ]  # fmt: skip
    more = [entry.unit, entry.verdict, entry.disposition, entry.text]
    kind = entry.what if entry.kind == "deviation" else entry.kind
    return [
        *(guarded(text or "") for text in texts), hours, guarded(kind or ""), guarded(entry.part or ""),
        guarded(entry.item or ""), guarded(entry.position or ""), guarded(condition or ""), value,
        *(guarded(text or "") for text in more),
    ]  # fmt: skip


def _iso(entry: ArchivedEntry, sheet: JobSheet | None) -> list[str]:
    mechanism: IsoTerm | None = None
    if entry.kind == "condition":
        mechanism = mechanism_of(entry.what or "")
    elif entry.kind == "reading":
        item = sheet.measured.get(entry.item or "") if sheet else None
        kind = item.measured_kind if item else KIND_OF_UNIT.get(entry.unit or "")
        mechanism = mechanism_of_reading(kind)
    mode = possible_mode(entry.part or "") if mechanism and entry.part else None
    return [
        *((mechanism.code, mechanism.notation, mechanism.flag) if mechanism else ("", "", "")),
        *((mode.code, mode.flag) if mode else ("", "")),
    ]
