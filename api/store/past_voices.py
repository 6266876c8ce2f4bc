"""Who stated, of a recording from before, that everybody heard in it agreed that lessons use his voice."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import String, delete, select
from sqlalchemy.orm import Mapped, Session, mapped_column

from api.store.tables import Table


class PastVoices(Table):
    """A statement that stands; whoever takes it back takes the row away."""

    __tablename__ = "past_voices"

    source: Mapped[str] = mapped_column(String(80), primary_key=True)
    """As the archive calls the recording: ``file:<SHA-256>``."""
    stated_by: Mapped[str] = mapped_column(String(200))
    """As he was named beside the recording."""
    stated_at: Mapped[datetime]


def keep_statement(session: Session, source: str, stated_by: str, now: datetime) -> None:
    """Keep who states that all agreed, or, where nobody does any more, take the statement away.

    Args:
        session: one that writes.
        source: of the recording.
        stated_by: his name; empty takes the statement away.
        now: the moment.
    """
    if not stated_by:
        session.execute(delete(PastVoices).where(PastVoices.source == source))
        return
    was = session.get(PastVoices, source)
    if was is None or was.stated_by != stated_by:
        session.merge(PastVoices(source=source, stated_by=stated_by, stated_at=now))
        session.flush()


def stated_of(session: Session, sources: Collection[str]) -> frozenset[str]:
    """Return those of some recordings from before of which it is stated."""
    if not sources:
        return frozenset()
    return frozenset(session.scalars(select(PastVoices.source).where(PastVoices.source.in_(sources))))
