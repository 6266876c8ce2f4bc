"""Records as extraction made them. A newer draft stands beside an older one and replaces none."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from api.record_versions import record_from
from api.store.job_events import note
from api.store.tables import BenchJob, Draft, Review, SheetText
from shared.errors import NotKept
from shared.record import RebuildRecord


def keep_draft(
    session: Session,
    job: BenchJob,
    record: RebuildRecord,
    *,
    rules_sha256: str,
    now: datetime,
    sheet: SheetText | None = None,
) -> Draft:
    """Keep a record that extraction made; where it is the same as the last one, that one is returned.

    Args:
        session: one that writes.
        job: whose record it is.
        record: as it was made.
        rules_sha256: of the rules that it was read by.
        now: the moment.
        sheet: that it was read by; None for the job's own.
    """
    last = newest_draft(session, job.id)
    text = record.to_json()
    if last is not None and last.record == text:
        return last
    number = last.number + 1 if last else 1
    sheet_sha256 = sheet.sha256 if sheet is not None else job.sheet_sha256
    draft = Draft(
        job_id=job.id, number=number, record=text, rules_sha256=rules_sha256, sheet_sha256=sheet_sha256,
        made_at=now,
    )  # fmt: skip
    session.add(draft)
    session.flush()
    payload = {"draft": number, "rules_sha256": rules_sha256, "sheet_sha256": sheet_sha256}
    note(session, job.id, "drafted", payload, by=None, now=now)
    return draft


def newest_draft(session: Session, job_id: str) -> Draft | None:
    """Return the newest draft of a job, or None."""
    return session.scalar(select(Draft).where(Draft.job_id == job_id).order_by(Draft.number.desc()).limit(1))


def draft_under_review(session: Session, job_id: str) -> Draft:
    """Return the draft that a reviewer has begun to judge, or the newest by the job's sheet where nobody has.

    What extraction makes later, and what another sheet makes of the talk, is shown as a difference; it never
    takes the place of what was judged.

    Raises:
        NotKept: the job has no draft.
    """
    begun = session.scalar(select(func.max(Review.draft_id)).where(Review.job_id == job_id))
    draft = session.get(Draft, begun) if begun is not None else _newest_by_its_sheet(session, job_id)
    if draft is None:
        raise NotKept(f"job {job_id!r} has no record yet")
    return draft


def is_begun(session: Session, job_id: str) -> bool:
    """Tell whether a reviewer decided anything about a job."""
    return session.scalar(select(Review.id).where(Review.job_id == job_id).limit(1)) is not None


def _newest_by_its_sheet(session: Session, job_id: str) -> Draft | None:
    by_its_sheet = (
        select(Draft)
        .join(BenchJob, BenchJob.id == Draft.job_id)
        .where(Draft.job_id == job_id)
        .where(or_(Draft.sheet_sha256.is_(None), Draft.sheet_sha256 == BenchJob.sheet_sha256))
    )
    return session.scalar(by_its_sheet.order_by(Draft.number.desc()).limit(1))


def drafts_of(session: Session, job_id: str) -> Sequence[Draft]:
    """Return all drafts of a job, oldest first."""
    return session.scalars(select(Draft).where(Draft.job_id == job_id).order_by(Draft.number)).all()


def record_of(draft: Draft) -> RebuildRecord:
    """Return the record that a draft holds.

    Raises:
        RecordForeign: another version of the program wrote it, and it cannot be brought to the present one.
    """
    return record_from(draft.record, where=f"draft {draft.number} of job {draft.job_id}")
