"""Signed records: written once, never changed; a later change is a new revision that names the old."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from hashlib import sha256

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.tables import Account, BenchJob, Revision
from shared.errors import NotKept


def keep_revision(
    session: Session, job: BenchJob, *, signed: bytes, document: bytes, by: Account, now: datetime
) -> Revision:
    """Keep a signed record and its PDF as the job's next revision.

    Args:
        session: one that writes.
        job: which was turned to signed in the same transaction.
        signed: the signed record's file.
        document: the signed PDF.
        by: who signed.
        now: the moment.
    """
    number = len(revisions_of(session, job.id)) + 1
    revision = Revision(
        job_id=job.id, number=number, signed=signed, document=document, sha256=sha256(signed).hexdigest(),
        signed_by=by.id, signed_at=now,
    )  # fmt: skip
    session.add(revision)
    session.flush()
    return revision


def revisions_of(session: Session, job_id: str) -> Sequence[Revision]:
    """Return all signed revisions of a job, oldest first."""
    return session.scalars(select(Revision).where(Revision.job_id == job_id).order_by(Revision.number)).all()


def revision_of(session: Session, job_id: str, number: int) -> Revision:
    """Return one signed revision of a job.

    Raises:
        NotKept: there is none of that number.
    """
    found = session.scalar(select(Revision).where(Revision.job_id == job_id, Revision.number == number))
    if found is None:
        raise NotKept(f"job {job_id!r} has no signed revision {number}")
    return found
