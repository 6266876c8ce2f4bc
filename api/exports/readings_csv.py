"""The standing readings as a table that spreadsheets take (RFC 4180).

A cell of text that a spreadsheet would take for a formula gets an apostrophe before it: what was said at
a bench must run nowhere. Numbers are written as the record has them and never guarded.
"""

from __future__ import annotations

import csv
import io
from decimal import Decimal

from api.exports.spreadsheet_cells import guarded
from api.exports.standing_readings import StandingReading, plain, standing_readings
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord

COLUMNS = (
    "work_order", "pump_tag", "pump_serial", "sheet", "sheet_revision", "id", "item", "position", "place",
    "stage", "value", "unit", "said_unit", "nominal", "lower", "upper", "uncertainty_k2", "verdict", "gauge",
    "needs_review", "reason", "recording", "start_s", "words",
)  # fmt: skip


def readings_csv(record: RebuildRecord, sheet: JobSheet) -> str:
    """Return the table: a header and one line a standing reading; lines end with CR LF.

    Args:
        record: the record.
        sheet: the job sheet that it was made with; a reading that it does not know has no limits.
    """
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for each in standing_readings(record, sheet):
        row = _row(record, each)
        table.writerow([row[column] for column in COLUMNS])
    return out.getvalue()


def _row(record: RebuildRecord, each: StandingReading) -> dict[str, str]:
    entry, job = each.reading, record.job
    texts = {
        "work_order": job.work_order, "pump_tag": job.pump_tag, "pump_serial": job.pump_serial,
        "sheet": job.sheet_id, "sheet_revision": job.sheet_revision, "id": entry.id, "item": entry.item,
        "position": entry.position, "place": each.place, "stage": entry.stage, "unit": entry.unit,
        "said_unit": entry.said_unit, "verdict": entry.verdict, "gauge": entry.gauge, "reason": entry.reason,
        "recording": entry.evidence.recording, "words": entry.evidence.words,
    }  # fmt: skip
    value = None if entry.value_exact is None else Decimal(entry.value_exact)
    numbers = {
        "value": value, "nominal": each.nominal, "lower": each.lower, "upper": each.upper,
        "uncertainty_k2": each.uncertainty, "start_s": Decimal(repr(entry.evidence.start_s)),
    }  # fmt: skip
    return {
        **{name: guarded(text or "") for name, text in texts.items()},
        **{name: "" if number is None else plain(number) for name, number in numbers.items()},
        "needs_review": "yes" if entry.needs_review else "no",
    }
