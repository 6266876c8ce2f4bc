"""The shop's database, opened: SQLite in a folder of its own unless a setting names another.

SQLite runs with a write-ahead log and ``synchronous=FULL``: what was committed survives a power cut.
PostgreSQL (through psycopg 3) is set in ``postgresql_rules.py``. On both a writer takes its lock when it
begins, so that two of them wait for each other instead of failing half-way, and a reader sees one moment.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.exc import DataError, InterfaceError, OperationalError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as NoConnectionLeft
from sqlalchemy.orm import Session, sessionmaker

from api.store.postgresql_rules import prepare_postgresql, with_psycopg
from shared.errors import StoreBusy, StoreRefused, StoreUnusable

#: The database of a shop that named none, in its data folder.
FILE = "witnessmark.sqlite"
#: Seconds that a writer waits for another before it gives up.
WAIT_S = 10.0


class Database:
    """Opened; gives sessions.

    Args:
        url: as SQLAlchemy writes it; ``postgresql://…`` means psycopg 3.
        wait_s: how long a writer waits for another, seconds.

    Raises:
        StoreUnusable: no such kind of database, or it cannot be opened.
    """

    def __init__(self, url: str, *, wait_s: float = WAIT_S) -> None:
        try:
            self.engine = _engine(with_psycopg(url))
        except (SQLAlchemyError, ImportError, ValueError) as exc:
            raise StoreUnusable(
                f"this database cannot be used: {_reason(exc)}", expected="a database URL",
                remedy="set WITNESSMARK_DATABASE_URL or leave it out",
            ) from exc  # fmt: skip
        reading: dict[str, Any] = {}
        if self.engine.dialect.name == "sqlite":
            _prepare_sqlite(self.engine, wait_s)
        elif self.engine.dialect.name == "postgresql":
            prepare_postgresql(self.engine, wait_s)
            reading = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
        else:
            raise StoreUnusable(
                f"this database cannot be used: {self.engine.dialect.name} is not known here",
                expected="SQLite or PostgreSQL", remedy="set WITNESSMARK_DATABASE_URL or leave it out",
            )  # fmt: skip
        self._readers = sessionmaker(self.engine.execution_options(**reading), expire_on_commit=False)
        writing = self.engine.execution_options(writes=True)
        self._writers = sessionmaker(writing, expire_on_commit=False)

    @property
    def on_postgresql(self) -> bool:
        """Whether several machines may use it at once."""
        return self.engine.dialect.name == "postgresql"

    @contextmanager
    def reading(self) -> Iterator[Session]:
        """Give a session that keeps nothing."""
        with _translated(), self._readers() as session:
            yield session

    @contextmanager
    def writing(self) -> Iterator[Session]:
        """Give a session whose work is kept whole at the end, or, after an exception, not at all."""
        with _translated(), self._writers.begin() as session:
            session.connection()  # takes the lock, or waits for it, before anything is read
            yield session

    def close(self) -> None:
        """Close all connections."""
        self.engine.dispose()


def database_url(data_folder: Path, url: str | None) -> str:
    """Return the URL of the database that was set, or of the one in the shop's data folder."""
    return url or f"sqlite:///{data_folder / FILE}"


def _engine(url: str) -> Engine:
    if url.startswith("postgresql"):
        # A server that was started again, or a line that broke, costs a new connection and no request.
        return create_engine(url, pool_pre_ping=True, pool_size=10, max_overflow=20)
    return create_engine(url)


def _prepare_sqlite(engine: Engine, wait_s: float) -> None:
    @event.listens_for(engine, "connect")
    def _connected(connection: sqlite3.Connection, _: Any) -> None:
        # The driver's own transactions begin too late (at the first write) for two writers to wait in turn.
        connection.isolation_level = None
        for pragma in (
            "journal_mode=WAL", "synchronous=FULL", "foreign_keys=ON", f"busy_timeout={round(wait_s * 1000)}",
        ):  # fmt: skip
            connection.execute(f"PRAGMA {pragma}").close()

    @event.listens_for(engine, "begin")
    def _begun(connection: Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


@contextmanager
def _translated() -> Iterator[None]:
    try:
        yield
    except (OperationalError, InterfaceError) as exc:
        said = str(exc.orig)
        if "locked" in said or "busy" in said or "lock timeout" in said:
            raise StoreBusy(
                "another process holds the database", remedy="try again; nothing of this step was kept"
            ) from exc
        # "no space left" and "disk full" are how PostgreSQL says it.
        full = "full" in said or "No space left" in said
        raise StoreUnusable(
            "the disk is full" if full else f"the database gave up: {_reason(exc)}",
            remedy="make room and try again; nothing of this step was kept"
            if full
            else "check disk and rights, or that its server runs",
        ) from exc
    except NoConnectionLeft as exc:
        raise StoreBusy("all connections to the database are in use", remedy="try again") from exc
    except DataError as exc:
        raise StoreRefused(
            f"the database cannot take this value: {_reason(exc)}",
            remedy="shorten it, or leave out characters that cannot be printed",
        ) from exc


def _reason(exc: BaseException) -> str:
    return str(getattr(exc, "orig", None) or exc).splitlines()[0]
