"""What happened to a job, one link of its chain an event; nothing is ever changed or taken away."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.signing.canonical import canonical_bytes
from api.signing.chain import Link, next_link
from api.store.tables import Account, JobEvent

Kind = Literal[
    "opened", "joined", "left", "recording_begun", "recording_ended", "clock_set_back", "witnessed",
    "hold_passed", "gauge_used", "part_lot", "picture_taken", "pressed",
    "drafted", "sheet_taken", "question_answered", "entry_accepted", "entry_corrected",
    "entry_struck", "entry_added", "disposed", "returned", "handed_over", "signed", "revision_begun",
    "hours_entered", "sound_erased", "chatter_erased", "erasure_asked", "exported",
]  # fmt: skip

#: Seconds by which a clock is put right now and then without anybody's doing.
_BACK_S = 5.0


def note(
    session: Session, job_id: str, kind: Kind, payload: dict[str, Any], *, by: Account | None, now: datetime
) -> Link:
    """Add an event to a job's chain, in the transaction of what it tells.

    Args:
        session: one that writes.
        job_id: of the job.
        kind: what happened.
        payload: more of it; JSON.
        by: who did it, None for the machine itself.
        now: the moment by the machine's clock. The chain orders events, not the clock, which can be set back.
    """
    last = session.scalar(
        select(JobEvent).where(JobEvent.job_id == job_id).order_by(JobEvent.number.desc()).limit(1)
    )
    if last is not None and kind != "clock_set_back":
        back_s = (datetime.fromisoformat(last.at) - now).total_seconds()
        if back_s > _BACK_S:
            note(session, job_id, "clock_set_back", {"seconds": round(back_s)}, by=None, now=now)
            return note(session, job_id, kind, payload, by=by, now=now)
    link = next_link(
        _link(last) if last else None,
        at=now.astimezone(UTC).isoformat(timespec="milliseconds"),
        by=who(by) if by else None,
        kind=kind,
        payload=payload,
    )
    session.add(
        JobEvent(
            job_id=job_id, number=link.number, at=link.at, by=link.by, kind=link.kind,
            payload=canonical_bytes(payload).decode(), previous=link.previous, sha256=link.sha256,
        )
    )  # fmt: skip
    session.flush()
    return link


def chain_of(session: Session, job_id: str) -> Sequence[Link]:
    """Return the events of a job as they stand in the database, from the first."""
    rows = session.scalars(select(JobEvent).where(JobEvent.job_id == job_id).order_by(JobEvent.number))
    return [_link(row) for row in rows]


def who(account: Account) -> str:
    """Return a person as records and events name him."""
    return f"{account.shown_name} ({account.name})"


def _link(row: JobEvent) -> Link:
    return Link(row.number, row.at, row.by, row.kind, json.loads(row.payload), row.previous, row.sha256)
