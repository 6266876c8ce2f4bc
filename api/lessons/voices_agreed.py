"""Which recordings a page offers to whoever learns: kept, by somebody who agreed to be heard in lessons."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.lessons.speakers import notice_sha256
from api.store.tables import Consent, Recording


def sound_agreed(session: Session, jobs: Collection[str]) -> set[tuple[str | None, str]]:
    """Return job and number, as text, of recordings that are kept and whose maker agreed.

    Others may have stood at the bench in a second of it: whoever gives out the sound asks for them, too.

    Args:
        session: one that reads.
        jobs: whose recordings.
    """
    if not jobs:
        return set()
    answers = select(Consent.account_id, Consent.agreed).where(Consent.notice_sha256 == notice_sha256())
    last: dict[int, bool] = {}
    for account, agreed in session.execute(answers.order_by(Consent.id)):
        last[account] = agreed
    kept = select(Recording.job_id, Recording.number, Recording.account_id).where(
        Recording.job_id.in_(jobs), Recording.sound_gone_at.is_(None)
    )
    return {(job, f"{number:03d}") for job, number, account in session.execute(kept) if last.get(account)}
