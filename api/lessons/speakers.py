"""Who may be heard in a clip, and whether all of them agreed that lessons use their voice.

Everybody who was signed in at the bench at that second counts: nobody knows voices. The question is one of
its own, beside that on being recorded: whoever never answered has not agreed.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from hashlib import sha256
from importlib.resources import files

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.live.bench_facts import Place, facts_of
from api.store.consents import answer_of
from api.store.job_events import chain_of
from api.store.tables import Account, Recording


@cache
def lesson_notice() -> str:
    """Return the text that is answered, paragraphs with an empty line between."""
    return files("api.lessons").joinpath("lesson_notice.txt").read_text("utf-8").strip()


_MOST_FIGURES = 9


def recording_number(text: str) -> int:
    """Return a recording's number as an address gives it; 0, which no recording has, for anything else."""
    return int(text) if text.isascii() and text.isdecimal() and len(text) <= _MOST_FIGURES else 0


def notice_sha256() -> str:
    """Return what the text is known by."""
    return sha256(lesson_notice().encode()).hexdigest()


def speakers(
    session: Session, job_id: str, recording: str, start_s: float, end_s: float
) -> list[Account] | None:
    """Return everybody who was signed in at the bench in a clip; None where somebody of them is not known.

    Args:
        session: one that reads.
        job_id: of the clip.
        recording: its number in the job, as text.
        start_s: seconds from the recording's beginning.
        end_s: likewise.
    """
    number = recording_number(recording)
    row = session.scalar(select(Recording).where(Recording.job_id == job_id, Recording.number == number))
    if row is None:
        return None
    facts = facts_of(chain_of(session, job_id))
    begin, end = Place(number, start_s), Place(number, end_s)
    names = {
        one.who for one in facts.presences if one.since < end and (one.until is None or begin < one.until)
    }
    found = [session.get(Account, row.account_id)]
    for name in sorted(names):
        # As events name people: the account stands in brackets at the end.
        account = name.rpartition(" (")[2].removesuffix(")")
        found.append(session.scalar(select(Account).where(Account.name == account)))
    known = {one.id: one for one in found if one is not None}
    return list(known.values()) if None not in found else None


def all_agreed(session: Session, people: Sequence[Account] | None) -> bool:
    """Return whether everybody is known and agreed, by his last answer to the text as it is now."""
    if not people:
        return False
    answers = (answer_of(session, one.id, notice_sha256()) for one in people)
    return all(one is not None and one.agreed for one in answers)
