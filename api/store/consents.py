"""What people answered to the notice on recording: who, when, to which text. The last answer stands."""

from __future__ import annotations

from datetime import datetime
from hashlib import sha256

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.tables import Account, Consent, NoticeText
from shared.errors import ConsentMissing


def keep_answer(session: Session, account: Account, *, notice: str, agreed: bool, now: datetime) -> Consent:
    """Keep what somebody answered, with the text that he was shown.

    Args:
        session: one that writes.
        account: whose answer.
        notice: the whole text as it was shown.
        agreed: to be recorded, or not.
        now: the moment.
    """
    digest = sha256(notice.encode()).hexdigest()
    if session.get(NoticeText, digest) is None:
        session.add(NoticeText(sha256=digest, text=notice, kept_at=now))
        session.flush()
    answer = Consent(account_id=account.id, notice_sha256=digest, agreed=agreed, at=now)
    session.add(answer)
    session.flush()
    return answer


def answer_of(session: Session, account_id: int, notice_sha256: str) -> Consent | None:
    """Return somebody's last answer to a notice, or None where he was never asked."""
    return session.scalar(
        select(Consent)
        .where(Consent.account_id == account_id, Consent.notice_sha256 == notice_sha256)
        .order_by(Consent.id.desc())
        .limit(1)
    )


def check_agreed(session: Session, account_id: int, notice_sha256: str) -> None:
    """See that somebody agreed to be recorded.

    Raises:
        ConsentMissing: he did not, or not to the notice as it is now.
    """
    answer = answer_of(session, account_id, notice_sha256)
    if answer is None or not answer.agreed:
        raise ConsentMissing(
            "whoever is signed in has not agreed to be recorded",
            remedy="read the notice at /notice and answer it; nothing is recorded until then",
        )
