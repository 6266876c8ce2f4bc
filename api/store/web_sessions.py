"""Browsers that are signed in, and scripts' tokens."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from api.store.secrets import hashed_token, new_token
from api.store.tables import Account, ApiToken, WebSession

#: A shift and its overtime; a shared bench signs out sooner by a badge held up.
LASTS = timedelta(hours=12)


@dataclass(frozen=True)
class SignedIn:
    """Who sends a request."""

    account: Account
    form_token: str | None
    """What this session's forms must carry; None for a script, which no other page can make send anything."""


def begin(session: Session, account: Account, now: datetime) -> str:
    """Sign a browser in and return the token of its cookie."""
    token = new_token()
    session.execute(delete(WebSession).where(WebSession.ends_at < now))
    session.add(
        WebSession(
            token_sha256=hashed_token(token),
            account_id=account.id,
            form_token=new_token(),
            made_at=now,
            ends_at=now + LASTS,
        )
    )
    return token


def signed_in(session: Session, token: str, now: datetime) -> SignedIn | None:
    """Return who a cookie's token signs in, or None."""
    found = session.get(WebSession, hashed_token(token))
    # A clock set back must not make an ended session good again; one begun in the future is not trusted.
    if found is None or not found.made_at - LASTS <= now < found.ends_at or found.account.closed_at:
        return None
    return SignedIn(found.account, found.form_token)


def end(session: Session, token: str) -> None:
    """Sign a browser out."""
    session.execute(delete(WebSession).where(WebSession.token_sha256 == hashed_token(token)))


def end_all_of(session: Session, account: Account) -> None:
    """Sign an account out everywhere."""
    session.execute(delete(WebSession).where(WebSession.account_id == account.id))


def make_api_token(session: Session, account: Account, purpose: str, now: datetime) -> str:
    """Make a token for a script of an account and return it; it is shown once."""
    token = new_token()
    session.add(
        ApiToken(account_id=account.id, purpose=purpose, token_sha256=hashed_token(token), made_at=now)
    )
    return token


def by_api_token(session: Session, token: str) -> SignedIn | None:
    """Return who a script's token signs in, or None."""
    found = session.scalar(select(ApiToken).where(ApiToken.token_sha256 == hashed_token(token)))
    if found is None or found.closed_at is not None or found.account.closed_at is not None:
        return None
    return SignedIn(found.account, None)
