"""Browsers that are signed in, and scripts' tokens."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy import delete, select, update
from sqlalchemy.orm import Session

from api.store.roles import Right, rights_of
from api.store.secrets import hashed_token, new_token
from api.store.tables import Account, ApiToken, WebSession

#: A shift and its overtime; a shared bench signs out sooner by a badge held up.
LASTS = timedelta(hours=12)
#: A session begun by badge at a shared bench ends so long after its last request or sound.
IDLE = timedelta(minutes=20)
#: That it is in use is written down no oftener.
_NOTED = timedelta(minutes=1)
#: A badge can be photographed: all that it opens is the bench.
_BY_BADGE: frozenset[Right] = frozenset({"work"})

Means = Literal["secret", "badge", "token"]


@dataclass(frozen=True)
class SignedIn:
    """Who sends a request."""

    account: Account
    form_token: str | None
    """What this session's forms must carry; None for a script, which no other page can make send anything."""
    means: Means = "secret"
    """How he showed who he is."""
    session_sha256: str | None = None
    """Of the session in the store; None for a script."""
    seen_at: datetime | None = None

    @property
    def rights(self) -> frozenset[Right]:
        """What he may do: what his roles may, and by badge no more than work at a bench."""
        rights = rights_of(self.account.roles)
        return rights & _BY_BADGE if self.means == "badge" else rights

    def unnoted(self, now: datetime) -> bool:
        """Return whether it has to be written down that a session by badge is still in use."""
        if self.means != "badge" or self.seen_at is None:
            return False
        return not timedelta(0) <= now - self.seen_at < _NOTED


def begin(
    session: Session, account: Account, now: datetime, *, means: Literal["secret", "badge"] = "secret"
) -> str:
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
            means=means,
            seen_at=now if means == "badge" else None,
        )
    )
    return token


def signed_in(session: Session, token: str, now: datetime) -> SignedIn | None:
    """Return who a cookie's token signs in, or None."""
    found = session.get(WebSession, hashed_token(token))
    # A clock set back must not make an ended session good again; one begun in the future is not trusted.
    if found is None or not found.made_at - LASTS <= now < found.ends_at or found.account.closed_at:
        return None
    if found.means == "badge" and (found.seen_at is None or now - found.seen_at >= IDLE):
        return None
    means: Means = "badge" if found.means == "badge" else "secret"
    return SignedIn(found.account, found.form_token, means, found.token_sha256, found.seen_at)


def note_use(session: Session, who: SignedIn, now: datetime) -> None:
    """Write down that a session is in use, so that it does not end as idle."""
    in_use = WebSession.token_sha256 == who.session_sha256
    session.execute(update(WebSession).where(in_use).values(seen_at=now))


def end(session: Session, token: str) -> None:
    """Sign a browser out."""
    session.execute(delete(WebSession).where(WebSession.token_sha256 == hashed_token(token)))


def end_by_badge(session: Session, who: SignedIn) -> None:
    """End a session that a badge began; one begun by secret goes on."""
    if who.means == "badge":
        session.execute(delete(WebSession).where(WebSession.token_sha256 == who.session_sha256))


def end_all_of(session: Session, account: Account, *, means: Means | None = None) -> None:
    """Sign an account out everywhere, or wherever it came in by some means."""
    those = delete(WebSession).where(WebSession.account_id == account.id)
    session.execute(those.where(WebSession.means == means) if means else those)


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
    return SignedIn(found.account, None, "token")
