"""Who comes to a bench and goes, as events of its job: who spoke when is told by who was signed in."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Literal

from sqlalchemy.orm import Session

from api.live.bench_facts import Place, facts_of
from api.store.job_events import chain_of, note, who
from api.store.tables import Account

_AT_ONCE = timedelta(minutes=2)


def note_joined(session: Session, job_id: str, account: Account, place: Place, now: datetime) -> None:
    """Write down that somebody works at a bench from now on, unless he does already."""
    if who(account) not in facts_of(chain_of(session, job_id)).here:
        _note(session, job_id, "joined", account, place, now)


def come_or_go(
    session: Session, job_id: str, account: Account, place: Place, now: datetime
) -> Literal["joined", "left"]:
    """Write down that somebody held up his badge: he works here from now on, or, if he did, no more.

    A badge that is still held up, or held up again at once, means the same as before.
    """
    chain = chain_of(session, job_id)
    here = who(account) in facts_of(chain).here
    last = next((one for one in reversed(chain) if one.payload.get("who") == who(account)), None)
    if last is not None and timedelta(0) <= now - datetime.fromisoformat(last.at) < _AT_ONCE:
        return "joined" if here else "left"
    kind: Literal["joined", "left"] = "left" if here else "joined"
    _note(session, job_id, kind, account, place, now)
    return kind


def _note(
    session: Session,
    job_id: str,
    kind: Literal["joined", "left"],
    account: Account,
    place: Place,
    now: datetime,
) -> None:
    payload = {"who": who(account), "recording": place.recording, "at_s": round(place.at_s, 1)}
    note(session, job_id, kind, payload, by=account, now=now)
