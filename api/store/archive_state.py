"""Which state the archive is in: a name that is new after every change, so that figures can be kept by it."""

from __future__ import annotations

from secrets import token_hex

from sqlalchemy import String
from sqlalchemy.orm import Mapped, Session, mapped_column

from api.store.tables import Table


class ArchiveState(Table):
    """The one row that names the state; none while nothing was ever filed."""

    __tablename__ = "archive_state"

    id: Mapped[int] = mapped_column(primary_key=True)
    """Always 1."""
    name: Mapped[str] = mapped_column(String(32))
    """Drawn by chance, not counted: what was never kept, and a backup that was brought back, name no state
    twice."""


def state_of(session: Session) -> str | None:
    """Return the name of the archive's state as this session sees it, or None where nothing can be kept.

    Args:
        session: any; one that changed the archive and has not kept it yet sees its own state.
    """
    found = session.get(ArchiveState, 1)
    return found.name if found else None


def archive_changed(session: Session) -> None:
    """Give the archive's state a new name; whoever changes a row of the archive calls it.

    Args:
        session: one that writes.
    """
    session.merge(ArchiveState(id=1, name=token_hex(16)))
    session.flush()
