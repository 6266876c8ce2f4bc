"""What holds for PostgreSQL as it does for SQLite: writers take turns, a reader sees one moment.

A writer takes an advisory lock of the shop when its transaction begins and holds it to the end. What this
program writes is short (a press, an entry, a signature), and numbers and chains are counted on from the last
row: two that count at once would both be right and one of them lost.

Source: PostgreSQL 15 documentation, 13.3.5 "Advisory Locks" (pg_advisory_xact_lock is released at the end of
the transaction) and 20.11.1 "Statement Behavior" (lock_timeout).
"""

from __future__ import annotations

from sqlalchemy import Connection, Engine, event

#: Names the lock among others of the same database; any number of 63 bits, once chosen.
WRITERS_LOCK = 0x7769_746E_6573_73
#: Seconds that opening a connection may take.
CONNECT_S = 10


def with_psycopg(url: str) -> str:
    """Return a database URL that names the driver this program brings, where it names PostgreSQL and none."""
    for plain in ("postgresql://", "postgres://"):
        if url.startswith(plain):
            return "postgresql+psycopg://" + url.removeprefix(plain)
    return url


def prepare_postgresql(engine: Engine, wait_s: float) -> None:
    """Let writers of an engine take turns.

    Args:
        engine: of PostgreSQL.
        wait_s: how long a writer waits for another, seconds.
    """

    @event.listens_for(engine, "do_connect")
    def _connecting(_dialect: object, _record: object, _args: object, parameters: dict[str, object]) -> None:
        parameters.setdefault("connect_timeout", CONNECT_S)
        # No statement here runs so long that compiling it pays; where the planner expects one to, the 50 to
        # 100 ms of its compiler are most of what it takes.
        parameters["options"] = f"{parameters.get('options') or ''} -c jit=off".strip()

    @event.listens_for(engine, "begin")
    def _begun(connection: Connection) -> None:
        if connection.get_execution_options().get("writes", False):
            connection.exec_driver_sql(f"SET LOCAL lock_timeout = {max(1, round(wait_s * 1000))}")
            connection.exec_driver_sql(f"SELECT pg_advisory_xact_lock({WRITERS_LOCK})")
