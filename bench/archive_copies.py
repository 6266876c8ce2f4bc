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


def drawn_for(least: int, most: int) -> int:
    """Return how many rebuilds to draw, so that doubling them comes to as many as are wanted and few more.

    Args:
        least: rebuilds wanted in the end.
        most: drawn at most.
    """
    drawn = least
    while drawn > most:
        drawn = -(-drawn // 2)
    return drawn


def double(database: Database) -> int:
    """Add as many rebuilds as there are, of other pumps; return how many there are then.

    Args:
        database: whose archive it is.
    """
    with database.writing() as session:
        records = _columns(ArchivedRecord)
        shift = session.scalar(select(func.max(ArchivedRecord.id))) or 0
        # Another letter each time, so that every copy is of a pump that was not there before.
        mark = chr(ord("a") + shift.bit_length())
        copied = {
            "id": records["id"] + shift,
            # Its length is bounded; a number of the row makes it another source.
            "source": literal("file:") + (records["id"] + shift).cast(records["source"].type),
            "pump_tag": records["pump_tag"] + literal(mark),
            "pump_serial": records["pump_serial"] + literal(mark),
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


def without_indexes(database: Database) -> list[str]:
    """Take PostgreSQL's indexes and references of the archive away; return the statements that make them.

    Made after much was added they take less time and are smaller. Keys stay: copying asks for them.
    """
    if database.engine.dialect.name != "postgresql":
        return []
    tables = [part.__tablename__ for part in (ArchivedRecord, *_PARTS)]
    references = text(
        "select conrelid::regclass::text, conname, pg_get_constraintdef(oid) from pg_constraint"
        " where contype = 'f' and conrelid::regclass::text = any(:tables)"
    )
    indexes = text(
        "select indexname, indexdef from pg_indexes where tablename = any(:tables)"
        " and indexname not in (select conname from pg_constraint)"
    )
    with database.writing() as session:
        referring = session.execute(references, {"tables": tables}).all()
        indexed = session.execute(indexes, {"tables": tables}).all()
        for table, name, _ in referring:
            session.execute(text(f'alter table {table} drop constraint "{name}"'))
        for name, _ in indexed:
            session.execute(text(f'drop index "{name}"'))
    made = [f'alter table {table} add constraint "{name}" {words}' for table, name, words in referring]
    return [words for _, words in indexed] + made


def with_indexes(database: Database, wanted: list[str]) -> None:
    """Make PostgreSQL's indexes again, and let it count what there is, as it does in time.

    Args:
        database: as above.
        wanted: from :func:`without_indexes`.
    """
    if database.engine.dialect.name != "postgresql":
        return
    with database.writing() as session:
        session.execute(text("set local maintenance_work_mem = '512MB'"))
        for words in wanted:
            session.execute(text(words))
    with database.engine.connect().execution_options(isolation_level="AUTOCOMMIT") as connection:
        connection.execute(text("vacuum analyze"))


def _columns(table: type[Table]) -> dict[str, Column[object]]:
    return {column.name: column for column in Table.metadata.tables[table.__tablename__].columns}


def _copy(session: Session, table: type[Table], changed: dict[str, object]) -> None:
    columns = _columns(table)
    values = [changed.get(name, column) for name, column in columns.items()]
    session.execute(insert(table).from_select(list(columns), select(*values)))  # type: ignore[call-overload]
