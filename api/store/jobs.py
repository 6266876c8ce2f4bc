"""Jobs: one pump on the bench each, from opening to signature."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import datetime
from typing import Any, Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.job_events import note
from api.store.sheets import keep_sheet
from api.store.tables import Account, BenchJob, Recording
from shared.errors import NotKept, OutOfTurn
from shared.job_sheet import JobSheet

State = Literal["open", "handed_over", "returned", "signed"]
Source = Literal["browser", "server_microphone", "file"]

#: From which states a job may go to which: the bench hands over, the office returns or signs, a signed job is
#: opened again only as a new revision.
TURNS: dict[State, frozenset[State]] = {
    "open": frozenset({"handed_over"}),
    "handed_over": frozenset({"returned", "signed"}),
    "returned": frozenset({"handed_over"}),
    "signed": frozenset({"handed_over"}),
}


def open_job(
    session: Session,
    sheet: JobSheet,
    *,
    work_order: str,
    by: Account,
    now: datetime,
    pump_tag: str | None = None,
    pump_serial: str | None = None,
    bench: str | None = None,
) -> BenchJob:
    """Open a job for a work order; the one that is open for it already is returned as it is.

    Args:
        session: one that writes.
        sheet: the job sheet that follows from the pump's type.
        work_order: as the shop writes it.
        by: who opens it.
        now: the moment.
        pump_tag: of the pump at its plant.
        pump_serial: of the pump.
        bench: where the work is done.
    """
    work_order = " ".join(work_order.split())
    found = session.scalar(
        select(BenchJob).where(BenchJob.work_order == work_order, BenchJob.state.in_(("open", "returned")))
    )
    if found is not None:
        return found
    job = BenchJob(
        id=secrets.token_hex(8),
        work_order=work_order,
        pump_tag=pump_tag,
        pump_serial=pump_serial,
        sheet=keep_sheet(session, sheet, now),
        bench=bench,
        state="open",
        opened_at=now,
        opened_by=by.id,
        turn=1,
    )
    session.add(job)
    session.flush()
    payload = {
        "work_order": work_order,
        "pump_tag": pump_tag,
        "sheet": sheet.id,
        "sheet_sha256": job.sheet_sha256,
    }
    note(session, job.id, "opened", payload, by=by, now=now)
    return job


def job_of(session: Session, job_id: str) -> BenchJob:
    """Return a job.

    Raises:
        NotKept: there is none of that id.
    """
    found = session.get(BenchJob, job_id)
    if found is None:
        raise NotKept(f"there is no job {job_id!r}")
    return found


def jobs_in(session: Session, *states: State) -> Sequence[BenchJob]:
    """Return the jobs in any of some states (all, if none is given), newest first."""
    wanted = select(BenchJob).order_by(BenchJob.opened_at.desc(), BenchJob.id)
    if states:
        wanted = wanted.where(BenchJob.state.in_(states))
    return session.scalars(wanted).all()


def begin_recording(
    session: Session, job: BenchJob, *, by: Account, source: Source, settings: dict[str, Any], now: datetime
) -> Recording:
    """Begin another stretch of sound of a job.

    Raises:
        OutOfTurn: the job was handed over or signed.
    """
    if job.state not in ("open", "returned"):
        raise OutOfTurn(
            f"work order {job.work_order} is {_said(job.state)}",
            expected="a job that is open", remedy="the reviewer can return it to the bench",
        )  # fmt: skip
    number = len(job.recordings) + 1
    recording = Recording(
        job_id=job.id, number=number, account_id=by.id, source=source, settings=settings,
        folder=f"jobs/{job.id}/{number:03d}", begun_at=now,
    )  # fmt: skip
    job.recordings.append(recording)
    session.flush()
    note(
        session, job.id, "recording_begun", {"recording": number, "source": source, "settings": settings},
        by=by, now=now,
    )  # fmt: skip
    return recording


def turn_to(job: BenchJob, state: State, *, seen: int) -> None:
    """Move a job to another state.

    Args:
        job: to be moved.
        state: where it goes.
        seen: the job's ``turn`` as whoever decides saw it.

    Raises:
        OutOfTurn: its state does not allow it, or somebody else was quicker.
    """
    take_turn(job, seen=seen)
    current: Any = job.state
    if state not in TURNS[current]:
        raise OutOfTurn(f"work order {job.work_order} is {_said(job.state)} and cannot become {_said(state)}")
    job.state = state


def take_turn(job: BenchJob, *, seen: int) -> None:
    """Count a change of a job by somebody who saw it at a certain turn.

    Raises:
        OutOfTurn: somebody else changed it since.
    """
    if job.turn != seen:
        raise OutOfTurn(
            f"work order {job.work_order} was changed by somebody else meanwhile",
            remedy="load the page again and look at what changed; nothing of yours was kept",
        )
    job.turn += 1


def _said(state: str) -> str:
    return state.replace("_", " ")
