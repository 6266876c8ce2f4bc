"""Tags printed for jobs, and what a work order or a pump's tag says of the sheet that is wanted."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.tables import Account, BenchJob, JobTag
from shared.errors import OutOfTurn


@dataclass(frozen=True)
class Wanted:
    """What is known of a job that is to be started or gone on with."""

    work_order: str
    pump_tag: str | None
    sheet_id: str | None
    """None where neither tag nor earlier work tells the pump's type."""
    open_job: str | None = None
    """Id of the job that is open for it."""


def keep_tag(
    session: Session, *, work_order: str, pump_tag: str | None, sheet_id: str, by: Account, now: datetime
) -> JobTag:
    """Keep what was printed for a work order; printed again it says what it says now."""
    work_order = one_line(work_order)
    tag = session.get(JobTag, work_order)
    if tag is None:
        tag = JobTag(work_order=work_order)
        session.add(tag)
    tag.pump_tag, tag.sheet_id, tag.made_at, tag.made_by = pump_tag, sheet_id, now, by.id
    session.flush()
    return tag


def tags_made(session: Session, most: int = 200) -> Sequence[JobTag]:
    """Return the tags that were printed, newest first."""
    return session.scalars(select(JobTag).order_by(JobTag.made_at.desc()).limit(most)).all()


def wanted_by(
    session: Session, work_order: str, *, pump_tag: str | None = None, sheet_id: str | None = None
) -> Wanted:
    """Return what a work order asks for: the open job, else what its tag says, else what the pump was before.

    Args:
        session: any.
        work_order: held up, said or typed.
        pump_tag: on the tag that was held up, if it says so.
        sheet_id: likewise.

    Raises:
        OutOfTurn: the job was handed over or signed, or is open for another pump.
    """
    work_order = one_line(work_order)
    job = _last_job(session, work_order)
    if job is not None:
        _check(job, pump_tag)
        return Wanted(work_order, job.pump_tag, job.sheet.sheet_id, job.id)
    printed = session.get(JobTag, work_order)
    pump_tag = pump_tag or (printed.pump_tag if printed else None)
    sheet_id = sheet_id or (printed.sheet_id if printed else None) or _sheet_of_pump(session, pump_tag)
    return Wanted(work_order, pump_tag, sheet_id)


def known_orders(session: Session) -> Sequence[str]:
    """Return the work orders that can be started or gone on with: open jobs, tags whose job was not begun."""
    begun: dict[str, str] = {}
    for job in session.scalars(select(BenchJob).order_by(BenchJob.opened_at)):
        begun[job.work_order] = job.state
    going = {order for order, state in begun.items() if state in ("open", "returned")}
    tagged = set(session.scalars(select(JobTag.work_order)))
    return sorted(going | (tagged - begun.keys()))


def one_line(text: str) -> str:
    """Return a work order as it is kept: one line, single blanks."""
    return " ".join(text.split())


def _last_job(session: Session, work_order: str) -> BenchJob | None:
    of_order = select(BenchJob).where(BenchJob.work_order == work_order)
    return session.scalar(of_order.order_by(BenchJob.opened_at.desc()).limit(1))


def _check(job: BenchJob, pump_tag: str | None) -> None:
    if job.state not in ("open", "returned"):
        raise OutOfTurn(
            f"work order {job.work_order} is {job.state.replace('_', ' ')}",
            remedy="the reviewer can return it to the bench",
        )
    if pump_tag and job.pump_tag and pump_tag != job.pump_tag:
        raise OutOfTurn(
            f"work order {job.work_order} is open for pump {job.pump_tag}, not for {pump_tag}",
            remedy="look which pump this is",
        )


def _sheet_of_pump(session: Session, pump_tag: str | None) -> str | None:
    """Return the sheet that a pump was worked by last, or None."""
    if not pump_tag:
        return None
    of_pump = select(BenchJob).where(BenchJob.pump_tag == pump_tag).order_by(BenchJob.opened_at.desc())
    before = session.scalar(of_pump.limit(1))
    return before.sheet.sheet_id if before else None
