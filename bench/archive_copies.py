"""A large archive made of a small one: every rebuild again and again, for other pumps, by the database.

Drawing and filing 100,000 rebuilds one by one would take hours; what a search or a page costs depends on how
many rows there are and how their words are spread, and both are as if they had been drawn.
"""

from __future__ import annotations

from sqlalchemy import Column, func, insert, literal, select, text, update
from sqlalchemy.orm import Session

from api.store.archive_state import archive_changed
from api.store.archive_tables import (
    ArchivedCount,
    ArchivedEntry,
    ArchivedRecord,
    ArchivedStage,
    ArchivedUtterance,
)
from api.store.database import Database
from api.store.tables import Table

_PARTS = (ArchivedEntry, ArchivedUtterance, ArchivedStage)


def double(database: Database) -> int:
    """Add as many rebuilds as there are, of other pumps; return how many there are then.

    Args:
        database: whose archive it is.
    """
    with database.writing() as session:
        records = _columns(ArchivedRecord)
        shift = session.scalar(select(func.max(ArchivedRecord.id))) or 0
        copied = {
            "id": records["id"] + shift,
            # Its length is bounded; a number of the row makes it another source.
            "source": literal("file:") + (records["id"] + shift).cast(records["source"].type),
            "pump_tag": records["pump_tag"] + literal("x"),
            "pump_serial": records["pump_serial"] + literal("x"),
        }
        _copy(session, ArchivedRecord, copied)
        for part in _PARTS:
            columns = _columns(part)
            highest = session.scalar(select(func.max(part.id))) or 0
            _copy(session, part, {"id": columns["id"] + highest, "record_id": columns["record_id"] + shift})
        session.execute(
            update(ArchivedCount).values(wanted=ArchivedCount.wanted * 2, lacking=ArchivedCount.lacking * 2)
        )
        archive_changed(session)
        return session.scalar(select(func.count(ArchivedRecord.id))) or 0


def without_word_index(database: Database) -> None:
    """Take PostgreSQL's index of words away while much is added: made at the end it takes less time."""
    if database.engine.dialect.name == "postgresql":
        with database.writing() as session:
            session.execute(text("drop index if exists ix_archived_utterances_words"))


def with_word_index(database: Database) -> None:
    """Make PostgreSQL's index of words again, and let it count what there is, as it does in time."""
    if database.engine.dialect.name == "postgresql":
        with database.writing() as session:
            session.execute(
                text(
                    "create index if not exists ix_archived_utterances_words"
                    " on archived_utterances using gin (words_vector)"
                )
            )
        with database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
            connection.execute(text("vacuum analyze"))


def _columns(table: type[Table]) -> dict[str, Column[object]]:
    return {column.name: column for column in Table.metadata.tables[table.__tablename__].columns}


def _copy(session: Session, table: type[Table], changed: dict[str, object]) -> None:
    columns = _columns(table)
    values = [changed.get(name, column) for name, column in columns.items()]
    session.execute(insert(table).from_select(list(columns), select(*values)))  # type: ignore[call-overload]
