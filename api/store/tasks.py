"""Work ordered, taken under a lease, kept or given back.

A worker that dies leaves its lease behind; once that is over, another takes the work up. One that was only
slow comes back with a fence that is too low and keeps nothing: the result and the end of the task are one
transaction. Whose clock counts: on PostgreSQL the database's, so that machines need not agree; SQLite stays
on one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import func, or_, select, text, update
from sqlalchemy.orm import Session

from api.store.task_tables import Task
from shared.errors import TaskLost

#: A piece of work that ended its worker so often is not tried again by itself.
MOST_ATTEMPTS = 5
#: Seconds before work that something passing stood in the way of is tried again, the first time; each later
#: wait is so many times as long: all four come to 21 minutes, in which a server is started again.
_AGAIN_S, _GROWS = 5.0, 6.0
#: No lease is longer (the setting's bound): one that ends later was given by a clock that was set back since.
#: For rows of a version that did not keep when a lease was given.
_LONGEST_LEASE = timedelta(hours=1)


@dataclass(frozen=True)
class Taken:
    """A piece of work that this worker holds."""

    id: int
    fence: int
    kind: str
    payload: dict[str, Any]
    attempt: int = 1

    @property
    def again_s(self) -> float:
        """Seconds to wait before another try, should this one fail by something that passes."""
        return float(_AGAIN_S * _GROWS ** (self.attempt - 1))


def moment_of(session: Session) -> datetime:
    """Return the present moment by the clock that all workers of a database share."""
    if session.get_bind().dialect.name == "postgresql":
        found: datetime = session.execute(text("select clock_timestamp()")).scalar_one()
        return found.astimezone(UTC)
    return datetime.now(UTC)


def order_task(session: Session, kind: str, payload: dict[str, Any], *, key: str) -> tuple[Task, bool]:
    """Order work, or find it ordered; what failed before is ordered anew.

    Args:
        session: one that writes.
        kind: which task function does it.
        payload: what that is told; JSON.
        key: what makes two orders the same work.

    Returns:
        The row, and whether a queue is to be told of it.
    """
    found = session.scalar(select(Task).where(Task.key == key))
    if found is not None:
        if found.state != "failed":
            return found, False
        found.state, found.payload, found.attempt = "waiting", payload, 0
        found.failure = found.leased_at = found.lease_until = found.ended_at = None
        return found, True
    row = Task(
        kind=kind, payload=payload, key=key, state="waiting", attempt=0, fence=0, made_at=moment_of(session)
    )
    session.add(row)
    session.flush()
    return row, True


def take_task(session: Session, *, worker: str, lease_s: float, task_id: int | None = None) -> Taken | None:
    """Take work that waits, or that a worker left lying; None where there is none.

    Args:
        session: one that writes; writers take turns, so that no two take the same.
        worker: machine and process.
        lease_s: seconds for which nobody else takes it.
        task_id: this one alone.
    """
    now = moment_of(session)
    wanted = select(Task).where(*_free(now)).order_by(Task.id).limit(1)
    if task_id is not None:
        wanted = wanted.where(Task.id == task_id)
    while (row := session.scalar(wanted)) is not None:
        if row.attempt >= MOST_ATTEMPTS:
            row.state, row.ended_at = "failed", now
            row.failure = row.failure or f"given up: {MOST_ATTEMPTS} workers ended while at it"
            session.flush()
            continue
        row.state, row.worker = "doing", worker
        row.attempt, row.fence = row.attempt + 1, row.fence + 1
        row.leased_at, row.lease_until = now, now + timedelta(seconds=lease_s)
        session.flush()
        return Taken(row.id, row.fence, row.kind, row.payload, row.attempt)
    return None


def free_tasks(session: Session) -> Sequence[int]:
    """Return the ids of all that a worker could take now."""
    return session.scalars(select(Task.id).where(*_free(moment_of(session))).order_by(Task.id)).all()


def renew_lease(session: Session, taken: Taken, *, lease_s: float) -> None:
    """Put off the end of a lease.

    Raises:
        TaskLost: another worker took it meanwhile.
    """
    now = moment_of(session)
    _change(session, taken, leased_at=now, lease_until=now + timedelta(seconds=lease_s))


def finish_task(session: Session, taken: Taken, result: dict[str, Any]) -> None:
    """Keep that work is done, in the transaction that keeps what came of it.

    Raises:
        TaskLost: another worker took it meanwhile; the transaction must keep nothing.
    """
    _change(session, taken, state="done", result=result, failure=None, **_ended(session))


def fail_task(session: Session, taken: Taken, why: str) -> None:
    """Keep that work cannot be done, and why, in one line.

    Raises:
        TaskLost: another worker took it meanwhile.
    """
    _change(session, taken, state="failed", failure=why, **_ended(session))


def give_back(session: Session, taken: Taken, *, why: str, after_s: float, counts: bool = True) -> None:
    """Give back work that another try may do.

    Args:
        session: one that writes.
        taken: what is given back.
        why: in one line.
        after_s: seconds before it is taken again.
        counts: whether it was the work's doing; a worker that is stopped takes nothing from it.

    Raises:
        TaskLost: another worker took it meanwhile.
    """
    values: dict[str, Any] = {"state": "waiting", "failure": why if counts else None}
    if not counts:
        values["attempt"] = Task.attempt - 1
    now = moment_of(session)
    _change(session, taken, leased_at=now, lease_until=now + timedelta(seconds=after_s), **values)


def tasks_by_state(session: Session) -> dict[str, int]:
    """Return how many tasks there are of each state that has any."""
    rows = session.execute(select(Task.state, func.count()).group_by(Task.state))
    return {row[0]: row[1] for row in rows}


def _free(now: datetime) -> tuple[Any, ...]:
    until = Task.lease_until
    # A moment to come is one of a clock that was set back since: what it promised is worth nothing.
    over = or_(until.is_(None), until < now, Task.leased_at > now, until > now + _LONGEST_LEASE)
    return Task.state.in_(("waiting", "doing")), over


def _ended(session: Session) -> dict[str, Any]:
    return {"leased_at": None, "lease_until": None, "ended_at": moment_of(session)}


def _change(session: Session, taken: Taken, **values: Any) -> None:
    changed = session.execute(
        update(Task)
        .where(Task.id == taken.id, Task.fence == taken.fence, Task.state == "doing")
        .values(**values)
        .execution_options(synchronize_session=False)
    )
    if changed.rowcount != 1:  # type: ignore[attr-defined]  # of an update it is there
        raise TaskLost("another worker took this work up meanwhile", where=f"task {taken.id}")
