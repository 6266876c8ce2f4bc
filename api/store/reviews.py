"""What people decided about the entries of a draft: original, correction, who, when and why."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.job_events import Kind, note
from api.store.jobs import take_turn
from api.store.tables import Account, BenchJob, Draft, Review
from shared.errors import OutOfTurn

Decision = Literal["accepted", "corrected", "struck", "added", "disposed"]

_EVENTS: dict[Decision, Kind] = {
    "accepted": "entry_accepted",
    "corrected": "entry_corrected",
    "struck": "entry_struck",
    "added": "entry_added",
    "disposed": "disposed",
}


def decide(
    session: Session,
    job: BenchJob,
    draft: Draft,
    *,
    entry: str,
    decision: Decision,
    was: dict[str, Any] | None,
    now_is: dict[str, Any] | None,
    remark: str | None,
    by: Account,
    now: datetime,
    seen: int,
) -> Review:
    """Keep a decision about one entry; earlier ones about it stay and are superseded by it.

    Args:
        session: one that writes.
        job: in review.
        draft: that the entry is of.
        entry: id of the entry (a new one for an entry that is added).
        decision: which.
        was: the entry as the draft has it, JSON.
        now_is: the fields that it gets, JSON.
        remark: why.
        by: the reviewer.
        now: the moment.
        seen: the job's turn as the reviewer saw it.

    Raises:
        OutOfTurn: the job is signed, or somebody else was quicker.
    """
    if job.state == "signed":
        raise OutOfTurn(
            f"work order {job.work_order} is signed",
            remedy="begin a new revision; the signed one stays as it is",
        )
    take_turn(job, seen=seen)
    review = Review(
        job_id=job.id, draft_id=draft.id, entry=entry, kind=decision, was=was, now=now_is, remark=remark,
        by=by.id, at=now,
    )  # fmt: skip
    session.add(review)
    session.flush()
    payload = {"draft": draft.number, "entry": entry, "was": was, "now": now_is, "remark": remark}
    note(session, job.id, _EVENTS[decision], payload, by=by, now=now)
    return review


def reviews_of(session: Session, draft: Draft) -> Sequence[Review]:
    """Return all decisions about a draft's entries, in the order in which they were made."""
    return session.scalars(select(Review).where(Review.draft_id == draft.id).order_by(Review.id)).all()
