"""Work ordered: a row, and on PostgreSQL a word to the queue in the same transaction."""

from __future__ import annotations

from typing import Any

from sqlalchemy.orm import Session

from api.store.task_tables import Task
from api.store.tasks import order_task


def order(session: Session, kind: str, payload: dict[str, Any], *, key: str) -> Task:
    """Order work once; see :func:`api.store.tasks.order_task`.

    Args:
        session: one that writes.
        kind: which task function does it.
        payload: what that is told; JSON.
        key: what makes two orders the same work.
    """
    row, is_new = order_task(session, kind, payload, key=key)
    if is_new and session.get_bind().dialect.name == "postgresql":
        from api.work.shared_queue import tell_queue

        tell_queue(session, row.id)
    return row
