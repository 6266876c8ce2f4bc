"""A newer revision of a job's sheet: what it judges otherwise, and a reviewer's decision to go by it.

A record goes by the sheet that its job began with until a reviewer takes a newer one. What he decided about
entries stays; verdicts, deviations and what is missing follow from the sheet.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy.orm import Session

from api.live.board import Line, line_of
from api.office.difference import same_words
from api.office.record_with_facts import besides_talk, with_facts
from api.office.reviewing import UnderReview, in_words, under_review
from api.report.missing_rows import missing_rows
from api.store.drafts import is_begun, record_of
from api.store.job_events import note
from api.store.jobs import take_turn
from api.store.sheets import newest_sheet, sheet_from
from api.store.shop_sheets import sheet_as_now
from api.store.tables import Account, BenchJob, Draft, SheetText
from extract.judged_by_sheet import judged_by
from extract.reviewing import deviation_key, reviewed
from shared.errors import DecisionRefused, OutOfTurn
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord


@dataclass(frozen=True)
class JudgedRow:
    """An entry that stands as it is and is judged otherwise."""

    before: Line
    after: Line
    decided: str
    """What was decided about it, in words."""


@dataclass(frozen=True)
class BySheet:
    """What a record comes to by another sheet."""

    sheet: JobSheet
    sha256: str
    whole: bool
    """Nothing was decided yet: the draft that the sheet made comes under review as it is."""
    judged: list[JudgedRow]
    comes: list[str]
    """Deviations that come, and what is wanted besides."""
    goes: list[str]
    """Those that go."""
    refused: str = ""
    """Why the record cannot be judged by it."""


def newer_sheet_of(session: Session, folder: Path, job: BenchJob) -> JobSheet | None:
    """Return the sheet by which a pump like a job's would be started now, None where it is the job's own.

    Args:
        session: any.
        folder: data folder, with the shop's own sheets.
        job: under review.
    """
    found = sheet_as_now(folder, job.sheet.sheet_id) or newest_sheet(session, job.sheet.sheet_id)
    return found if found is not None and found != sheet_from(job.sheet) else None


def by_sheet_of(session: Session, it: UnderReview, newer: Draft) -> BySheet | None:
    """Return what the record comes to by the sheet of a newer draft; None where that is the job's own."""
    row = session.get(SheetText, newer.sheet_sha256 or "")
    if row is None or row.sha256 == it.job.sheet_sha256:
        return None
    sheet, whole = sheet_from(row), not is_begun(session, it.job.id)
    try:
        after = _judged(it, newer, sheet, whole=whole)
    except DecisionRefused as exc:
        return BySheet(sheet, row.sha256, whole, [], [], [], refused=str(exc))
    before_list, after_list = _wants(it.record, it.sheet), _wants(after, sheet)
    return BySheet(
        sheet, row.sha256, whole, _rows(it, after, sheet),
        comes=[text for key, text in after_list.items() if key not in before_list],
        goes=[text for key, text in before_list.items() if key not in after_list],
    )  # fmt: skip


def take_sheet(session: Session, job_id: str, *, newer: int, seen: int, by: Account, now: datetime) -> None:
    """Have a job's record go by the sheet of its newest draft, as a decision of the reviewer.

    Args:
        session: one that writes.
        job_id: of the job.
        newer: number of that draft, as the reviewer saw it.
        seen: the job's turn as he saw it.
        by: the reviewer.
        now: the moment.

    Raises:
        NotKept: no such job, or it has no record.
        DecisionRefused: there is no such draft by another sheet, or the record cannot be judged by that.
        OutOfTurn: the job is not handed over, or somebody else was quicker.
    """
    it = under_review(session, job_id)
    if it.newer is None or it.newer.number != newer:
        raise DecisionRefused("this draft is no more the newest", remedy="load the page again")
    found = by_sheet_of(session, it, it.newer)
    if found is None:
        raise DecisionRefused("the newest draft was read by the sheet of the record")
    if found.refused:
        raise DecisionRefused(found.refused)
    if it.job.state != "handed_over":
        raise OutOfTurn(
            f"work order {it.job.work_order} is {it.job.state.replace('_', ' ')}",
            expected="a job that is with the office",
        )
    take_turn(it.job, seen=seen)
    payload = {"draft": newer, "was_sha256": it.job.sheet_sha256, "sheet_sha256": found.sha256}
    it.job.sheet_sha256 = found.sha256
    session.flush()
    session.refresh(it.job)
    note(session, job_id, "sheet_taken", payload, by=by, now=now)


def _judged(it: UnderReview, newer: Draft, sheet: JobSheet, *, whole: bool) -> RebuildRecord:
    extracted = record_of(newer) if whole else judged_by(record_of(it.draft), sheet)
    extracted = with_facts(extracted, sheet, it.facts)
    return reviewed(extracted, sheet, it.decisions, besides_talk(sheet, it.facts))


def _rows(it: UnderReview, after: RebuildRecord, sheet: JobSheet) -> list[JudgedRow]:
    decided = in_words(it.decisions)
    left = [entry for entry in after.entries() if entry.standing]
    rows: list[JudgedRow] = []
    for old in (entry for entry in it.record.entries() if entry.standing):
        new = next((one for one in left if same_words(old, one)), None)
        if new is None:
            continue
        left.remove(new)
        was, becomes = line_of(old, it.sheet), line_of(new, sheet)
        if (was.mark, was.limits) != (becomes.mark, becomes.limits):
            rows.append(JudgedRow(was, becomes, decided.get(old.id, "")))
    return rows


def _wants(record: RebuildRecord, sheet: JobSheet) -> dict[str, str]:
    """Return what a sheet finds fault with, in words, by what it is known by."""
    found = {deviation_key(one): f"deviation: {one.text}" for one in record.deviations}
    missing = [f"{row.kind}: {row.text}" for row in missing_rows(record, sheet)]
    return found | dict(zip(missing, missing, strict=True))
