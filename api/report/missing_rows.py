"""What is still missing as the report shows it: a line for each item, photo, decision and step."""

from __future__ import annotations

from collections.abc import Sequence

from api.report.reading_groups import reading_name
from api.report.view import Highlight
from api.report.wording import clock, item_words, position_words, timed
from shared.job_sheet import JobSheet
from shared.record import Missing, RebuildRecord
from shared.sheet_entries import words_of

_KINDS = {"part_decision": "part decision"}


def never_said(record: RebuildRecord) -> list[Missing]:
    """Return what is missing without a question about it: said but unsure is asked, not missed."""
    unsure = {(r.item, r.position) for r in record.readings if r.standing and r.needs_review}
    return [m for m in record.missing if m.kind != "reading" or (m.item, m.position) not in unsure]


def missing_rows(record: RebuildRecord, sheet: JobSheet) -> list[Highlight]:
    """Return one line for each thing that was never said, with one for all positions of an item."""
    together: dict[tuple[str | None, ...], list[Missing]] = {}
    for missing in never_said(record):
        key = (missing.kind, missing.item, missing.part, missing.of, missing.step)
        together.setdefault(key, []).append(missing)
    return [_row(record, sheet, group) for group in together.values()]


def _row(record: RebuildRecord, sheet: JobSheet, group: Sequence[Missing]) -> Highlight:
    missing = group[0]
    if missing.kind == "reading" and missing.item:
        text = _readings(sheet, missing.item, [m.position for m in group])
    elif missing.kind == "part_decision":
        text = f"renewed or reused: {words_of(missing.part or '')}"
    elif missing.kind == "photo":
        text = f"photo of the {words_of(missing.of or '')}"
        if any(p.of == missing.of and p.standing and not p.usable for p in record.photos):
            text += ": the one taken is not usable"
    else:
        text = item_words(missing.step)
    moments = [m.moment_s for m in group if m.moment_s is not None]
    moment = max(moments) if moments and timed(record) else None
    return Highlight("○", _KINDS.get(missing.kind, missing.kind), text, clock(moment))


def _readings(sheet: JobSheet, item: str, positions: Sequence[str | None]) -> str:
    if len(positions) == 1:
        return reading_name(sheet, item, positions[0])
    entry = sheet.measured.get(item)
    if entry is not None and len(positions) == len(entry.positions):
        every = "both" if len(positions) == 2 else f"all {len(positions)}"
        return f"{item_words(item)}, {every} places"
    places = ", ".join(position_words(sheet, position, item) for position in positions)
    return f"{item_words(item)}: {places}"
