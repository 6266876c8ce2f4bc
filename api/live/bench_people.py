"""Who comes to a bench and goes, as events of its job: who spoke when is told by who was signed in."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from sqlalchemy.orm import Session

from api.live.bench_facts import BenchFacts, Place, facts_of
from api.store.job_events import chain_of, note, who
from api.store.tables import Account


def note_joined(session: Session, job_id: str, account: Account, place: Place, now: datetime) -> None:
    """Write down that somebody works at a bench from now on, unless he does already."""
    if who(account) not in facts_of(chain_of(session, job_id)).here:
        _note(session, job_id, "joined", account, place, now)


def come_or_go(
    session: Session, job_id: str, account: Account, place: Place, now: datetime
) -> Literal["joined", "left"]:
    """Write down that somebody held up his badge: he works here from now on, or, if he did, no more."""
    facts: BenchFacts = facts_of(chain_of(session, job_id))
    kind: Literal["joined", "left"] = "left" if who(account) in facts.here else "joined"
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
