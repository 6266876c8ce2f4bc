"""Every row of one database copied into another, in one transaction, and compared before it is kept.

A move that is broken off has kept nothing in the new database and is simply done again. What is compared is
the sum of the SHA-256 of every row, table by table, as both databases give them back: it depends on no
order.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import JSON, Connection, MetaData, Table, func, insert, select, text
from sqlalchemy.orm import Session

from api.store.archive_tables import ArchivedRecord
from api.store.database import Database
from api.store.stock_tables import StockNumber
from api.store.task_tables import Task
from api.work.shared_queue import tell_of_the_untold
from shared.errors import StoreUnusable

#: Rows read and written at once.
_AT_ONCE = 500
_MODULO = 1 << 256


@dataclass(frozen=True)
class Sum:
    """What a table holds, in two numbers."""

    rows: int
    sha256: str
    """Sum of the hashes of all rows, modulo 2²⁵⁶, in hexadecimal."""


def move_rows(old: Database, new: Database, told: Callable[[str, int], None]) -> dict[str, Sum]:
    """Copy all rows; return what each table holds, which is the same on both sides then.

    Args:
        old: of the present shape; nobody else writes to it meanwhile.
        new: on PostgreSQL, of the present shape, empty or moved to before.
        told: is told of each table and how many rows it has.

    Raises:
        StoreUnusable: the new one holds something else, or gives back something else than was put there.
    """
    tables = _tables()
    with old.reading() as source, new.writing() as target:
        wanted = {table.name: _sum_of(source.connection(), table) for table in tables}
        found = {table.name: _sum_of(target.connection(), table) for table in tables}
        if found == wanted:
            return wanted
        if held := sorted(name for name, one in found.items() if one.rows):
            raise StoreUnusable(
                f"the new database holds other rows already (in {held[0]})", expected="an empty one",
                remedy="name an empty database, or empty this one; nothing was changed",
            )  # fmt: skip
        for table in tables:
            _copy(source.connection(), target.connection(), table)
            told(table.name, wanted[table.name].rows)
        found = {table.name: _sum_of(target.connection(), table) for table in tables}
        if wrong := sorted(name for name in wanted if found[name] != wanted[name]):
            raise StoreUnusable(
                f"the new database gives back something else than was put there (in {wrong[0]})",
                remedy="nothing was kept; try again, and report this line if it comes again",
            )
        _count_on(target, tables)
        tell_of_the_untold(target)
    return wanted


def _tables() -> list[Table]:
    # All are mapped once these are.
    assert ArchivedRecord.metadata is StockNumber.metadata is Task.metadata
    copied = MetaData(naming_convention=Task.metadata.naming_convention)
    for table in Task.metadata.sorted_tables:
        table.to_metadata(copied)
    for table in copied.tables.values():
        for column in table.columns:
            if isinstance(column.type, JSON):
                column.type = JSON(none_as_null=True)  # nothing stays nothing, not the word null
    return list(copied.sorted_tables)


def _rows(connection: Connection, table: Table) -> Iterator[list[dict[str, Any]]]:
    # Of the statement: set on the connection, it would hold for what is written on it as well.
    wanted = select(table).order_by(*table.primary_key.columns).execution_options(yield_per=_AT_ONCE)
    for part in connection.execute(wanted).mappings().partitions():
        yield [dict(row) for row in part]


def _copy(source: Connection, target: Connection, table: Table) -> None:
    for rows in _rows(source, table):
        target.execute(insert(table), rows)


def _sum_of(connection: Connection, table: Table) -> Sum:
    count = total = 0
    for rows in _rows(connection, table):
        for row in rows:
            count += 1
            total = (total + int.from_bytes(hashlib.sha256(_spelled(row)).digest(), "big")) % _MODULO
    return Sum(count, f"{total:064x}")


def _spelled(row: Mapping[str, Any]) -> bytes:
    return json.dumps(row, sort_keys=True, default=_plain, ensure_ascii=False).encode()


def _plain(value: Any) -> str:
    if isinstance(value, (bytes, memoryview)):
        return hashlib.sha256(value).hexdigest()
    return str(value.isoformat())


def _count_on(session: Session, tables: list[Table]) -> None:
    """Let the numbers that PostgreSQL gives go on after those that were copied."""
    for table in tables:
        column = table.autoincrement_column
        if column is None:
            continue
        highest = session.scalar(select(func.max(column)))
        if highest is not None:
            session.execute(
                text("select setval(pg_get_serial_sequence(:table, :column), :highest)"),
                {"table": table.name, "column": column.name, "highest": highest},
            )
