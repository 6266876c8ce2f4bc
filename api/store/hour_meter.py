"""The hour meter of a pump, as somebody read it off when the pump came in."""

from __future__ import annotations

import math
from datetime import datetime

from sqlalchemy.orm import Session

from api.store.job_events import note
from api.store.tables import Account, BenchJob
from shared.errors import HoursRefused, OutOfTurn

#: Over a hundred years; a meter that says more was misread.
MOST_HOURS = 1_000_000.0


def hours_from(text: str) -> float | None:
    """Return the hours that somebody typed, or None where he left them out.

    Raises:
        HoursRefused: it is no number that a meter can show.
    """
    plain = text.replace("\u00a0", " ").replace(" ", "").removesuffix("h")
    if not plain:
        return None
    # "8,400" is eight thousand to one and eight point four to the other: asked about, never guessed.
    try:
        hours = float(plain)
    except ValueError:
        hours = math.nan
    if not 0 <= hours <= MOST_HOURS:
        raise HoursRefused(
            f"{text.strip()!r} is no reading of an hour meter",
            expected="figures with a point before decimals, no comma, like 8412 or 8412.5",
        )
    return hours


def keep_running_hours(
    session: Session, job: BenchJob, hours: float | None, *, by: Account, now: datetime
) -> None:
    """Keep what a pump's hour meter showed when it came in, and who read it.

    Args:
        session: one that writes.
        job: of the pump.
        hours: on the meter, at least 0; None takes back what was entered.
        by: who entered it.
        now: the moment.

    Raises:
        OutOfTurn: the job is signed.
    """
    if job.state == "signed":
        raise OutOfTurn(
            f"work order {job.work_order} is signed", remedy="begin a new revision, then enter the hours"
        )
    if hours == job.running_hours:
        return
    job.running_hours = hours
    note(session, job.id, "hours_entered", {"hours": hours}, by=by, now=now)
