"""The database copied in one moment while others write, and what was in it at that moment.

SQLite: its online backup, all pages in one step, under which writers go on in the write-ahead log (Source:
SQLite documentation, "SQLite Backup API" and "Write-Ahead Logging"). PostgreSQL: pg_dump of an exported
snapshot, the same in which we look (Source: PostgreSQL 15 documentation, pg_dump ``--snapshot``, and 9.27.5
"Snapshot Synchronization Functions").
"""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
from collections.abc import Iterator, Mapping
from contextlib import closing, contextmanager
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Literal

from sqlalchemy import func, select, text
from sqlalchemy.engine import make_url
from sqlalchemy.orm import Session

from api.signing.chain import first_break
from api.store.database import Database
from api.store.job_events import chain_of
from api.store.postgresql_rules import with_psycopg
from api.store.tables import BenchJob, Recording, Revision
from shared.errors import BackupDamaged, StoreUnusable


@dataclass(frozen=True)
class Copied:
    """A copy of the database, and what is in it."""

    kind: Literal["sqlite", "postgresql"]
    shape: str
    jobs: frozenset[str]
    recordings: frozenset[str]
    """Their folders, under the data folder."""
    revisions: int


def copy_database(url: str, to: Path) -> Copied:
    """Copy a database while others write.

    Args:
        url: of the database.
        to: file that is made.

    Raises:
        StoreUnusable, StoreBusy: the database, or the program that copies it, cannot be used.
        BackupDamaged: a chain of events or a signed record in it is not what was written.
    """
    if make_url(with_psycopg(url)).get_backend_name() == "sqlite":
        _copy_sqlite(Path(make_url(url).database or ""), to)
        with _opened(f"sqlite:///{to}") as copy, copy.reading() as session:
            return _looked_at(session, "sqlite")
    with _opened(url) as database, database.reading() as session:
        snapshot = session.scalar(select(func.pg_export_snapshot()))
        run_client("pg_dump", url, "--format=custom", "--no-owner", f"--snapshot={snapshot}", f"--file={to}")
        return _looked_at(session, "postgresql")


def check_sqlite(path: Path) -> None:
    """Have SQLite look whether all of a database file hangs together.

    Raises:
        BackupDamaged: it does not.
    """
    try:
        with closing(
            sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro&immutable=1", uri=True)
        ) as connection:
            told = [str(row[0]) for row in connection.execute("PRAGMA integrity_check")]
            loose = connection.execute("PRAGMA foreign_key_check").fetchone()
    except sqlite3.DatabaseError as exc:
        raise BackupDamaged(f"this is no whole database ({exc})", where=str(path)) from exc
    if told != ["ok"] or loose is not None:
        raise BackupDamaged(
            "the database does not hang together",
            where=str(path),
            remedy="restore an earlier backup with --at",
        )


def run_client(program: str, url: str, *arguments: str) -> None:
    """Run a client program of PostgreSQL on a database; the password goes by no command line.

    Raises:
        StoreUnusable: it is not on this machine, or it failed.
    """
    found = shutil.which(program)
    if found is None:
        raise StoreUnusable(
            f"{program} is not on this machine", expected="the client programs of PostgreSQL",
            remedy="install them, of the server's version or newer",
        )  # fmt: skip
    environment = {**os.environ, **_as_environment(url)}
    done = subprocess.run([found, *arguments], env=environment, capture_output=True, text=True)  # noqa: S603
    if done.returncode:
        said = (done.stderr.strip().splitlines() or [""])[-1]
        raise StoreUnusable(f"{program} failed: {said}", remedy="check rights and versions")


def _as_environment(url: str) -> Mapping[str, str]:
    parts = make_url(with_psycopg(url))
    host = parts.host or parts.query.get("host")
    named = {
        "PGHOST": host, "PGPORT": parts.port or parts.query.get("port"), "PGUSER": parts.username,
        "PGPASSWORD": parts.password, "PGDATABASE": parts.database, "PGSSLMODE": parts.query.get("sslmode"),
    }  # fmt: skip
    return {name: str(value) for name, value in named.items() if value}


def _copy_sqlite(file: Path, to: Path) -> None:
    if not file.is_file():
        raise StoreUnusable("there is no database", where=str(file))
    try:
        with (
            closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=rw", uri=True)) as source,
            closing(sqlite3.connect(to)) as copy,
        ):
            source.backup(copy)
            copy.execute("PRAGMA journal_mode=DELETE").close()  # one file, whole by itself
    except sqlite3.Error as exc:
        raise StoreUnusable(f"the database cannot be copied ({exc})", where=str(file)) from exc
    check_sqlite(to)


def _looked_at(session: Session, kind: Literal["sqlite", "postgresql"]) -> Copied:
    jobs = session.scalars(select(BenchJob.id)).all()
    for job in jobs:
        broken = first_break(chain_of(session, job))
        if broken is not None:
            raise BackupDamaged(
                f"event {broken.number} of job {job}: {broken.why}",
                remedy="look into the shop before older backups are given up",
            )
    revisions = 0
    for signed, kept in session.execute(select(Revision.signed, Revision.sha256)).yield_per(20):
        revisions += 1
        if sha256(signed).hexdigest() != kept:
            raise BackupDamaged(
                f"the signed record {kept[:12]} is not what was signed",
                remedy="look into the shop before older backups are given up",
            )
    shape = session.scalar(text("SELECT version_num FROM alembic_version")) or ""
    folders = frozenset(session.scalars(select(Recording.folder)))
    return Copied(kind, str(shape), frozenset(jobs), folders, revisions)


@contextmanager
def _opened(url: str) -> Iterator[Database]:
    database = Database(url)
    try:
        yield database
    finally:
        database.close()
