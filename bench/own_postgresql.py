"""A PostgreSQL server of our own, in a temporary folder that is gone in the end unless it is to be kept.

For measurements and tests: Debian's package (``postgresql``) brings its programs; nothing of the machine's
own clusters is touched. It listens at a socket in its folder only. PostgreSQL refuses to run as root, so root
starts it as the user ``postgres``, whom the package makes.
"""

from __future__ import annotations

import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import psycopg

_PROGRAMS = Path("/usr/lib/postgresql")
#: The data lives as long as a test: what a power cut would cost does not count, seconds do.
_HASTE = "fsync = off\nsynchronous_commit = off\nfull_page_writes = off\n"


class OwnPostgresql:
    """A running server."""

    def __init__(self, sockets: Path) -> None:
        self.sockets = sockets

    def url(self, database: str = "postgres") -> str:
        """Return how a database of this server is named in settings."""
        return f"postgresql://postgres@/{database}?host={self.sockets}"

    def databases(self) -> list[str]:
        """Return the names of its databases, templates apart."""
        with psycopg.connect(self.url(), autocommit=True) as connection:
            rows = connection.execute("select datname from pg_database where not datistemplate").fetchall()
        return sorted(name for (name,) in rows)

    def make(self, database: str, *, like: str = "template0") -> str:
        """Make a database, empty or a copy of another, and return its URL."""
        # The names are our own; they cannot be parameters.
        self._order(f'CREATE DATABASE "{database}" TEMPLATE "{like}"')
        return self.url(database)

    def drop(self, database: str) -> None:
        """Take a database away, whoever is connected to it."""
        self._order(f'DROP DATABASE IF EXISTS "{database}" WITH (FORCE)')

    def rename(self, database: str, to: str) -> None:
        """Give a database that nobody is in another name."""
        self._order(f'ALTER DATABASE "{database}" RENAME TO "{to}"')

    def _order(self, words: str) -> None:
        with psycopg.connect(self.url(), autocommit=True) as connection:
            connection.execute(words.encode())


def postgresql_programs() -> Path | None:
    """Return the folder of the newest installed server's programs, or None where there is none."""
    found = sorted(_PROGRAMS.glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    return found[-1].parent if found else None


@contextmanager
def own_postgresql(
    programs: Path, *, safe: bool = False, kept: Path | None = None
) -> Iterator[OwnPostgresql]:
    """Start a server in a new temporary folder; stop it and take the folder away at the end.

    Args:
        programs: from :func:`postgresql_programs`.
        safe: write to disk as a shop's server does, where that is what is measured.
        kept: a folder that stays, made where it is not there, with all that was in it before; the server's
            user must be let into the folders above it.
    """
    # Not under a folder of pytest: those let only their owner pass, and the server runs as somebody else.
    folder = kept.absolute() if kept else Path(tempfile.mkdtemp(prefix="witnessmark-pg-"))
    folder.mkdir(parents=True, exist_ok=True)
    as_user = _as_user()
    if as_user:
        os.chown(folder, pwd.getpwnam("postgres").pw_uid, -1)
    data = folder / "data"

    def run(program: str, *arguments: str) -> None:
        subprocess.run(
            [programs / program, *arguments], check=True, cwd=folder, stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL, **as_user,
        )  # fmt: skip

    try:
        if not data.exists():
            text = ("-E", "UTF8", "--locale=C.UTF-8")
            run("initdb", "-D", str(data), "-U", "postgres", "-A", "trust", *text, "--no-sync")
            settings = f"listen_addresses = ''\nunix_socket_directories = '{folder}'\nmax_connections = 60\n"
            with (data / "postgresql.conf").open("a", encoding="utf-8") as file:
                file.write(settings + ("" if safe else _HASTE))
        run("pg_ctl", "-D", str(data), "-w", "-t", "60", "-l", str(folder / "log"), "start")
        try:
            yield OwnPostgresql(folder)
        finally:
            run("pg_ctl", "-D", str(data), "-m", "fast" if kept else "immediate", "-w", "stop")
    finally:
        if not kept:
            shutil.rmtree(folder, ignore_errors=True)


def _as_user() -> dict[str, Any]:
    if os.getuid() != 0:
        return {}
    return {"user": "postgres", "group": "postgres", "extra_groups": []}
