"""Work that waits for a worker, as SQLAlchemy maps it."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, String
from sqlalchemy.orm import Mapped, mapped_column

from api.store.tables import Table


class Task(Table):
    """A piece of work. This row is the truth; whatever queue there is besides only tells of it."""

    __tablename__ = "tasks"
    __table_args__ = (CheckConstraint("state in ('waiting', 'doing', 'done', 'failed')", name="state"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(String(32))
    payload: Mapped[dict[str, Any]]
    key: Mapped[str] = mapped_column(String(200), unique=True)
    """What makes two orders the same work: the second finds the first."""
    state: Mapped[str] = mapped_column(String(16), index=True)
    leased_at: Mapped[datetime | None]
    """When the lease was given or put off last, by the clock that all workers share."""
    lease_until: Mapped[datetime | None]
    """Nobody else takes it before; a worker that is alive puts it off again and again."""
    worker: Mapped[str | None] = mapped_column(String(128))
    """Machine and process that took it last."""
    attempt: Mapped[int]
    """How often it was taken since it was ordered."""
    fence: Mapped[int]
    """Rises whenever it is taken: who comes back with an older one has lost it."""
    made_at: Mapped[datetime]
    ended_at: Mapped[datetime | None]
    result: Mapped[dict[str, Any] | None]
    failure: Mapped[str | None]
    """Why it could not be done, in one line."""
