"""The database keeps what it says that it kept, and lets two writers take turns."""

from __future__ import annotations

import contextlib
import subprocess
import sys
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from sqlalchemy import MetaData, func, insert, select, text
from sqlalchemy.exc import InternalError

from api.archive.filing import forget
from api.archive.searching import Search, search
from api.store.accounts import all_accounts, make_account
from api.store.archive_state import state_of
from api.store.archive_tables import ArchivedRecord
from api.store.database import Database, database_url
from api.store.migrating import _config, migrate, newest_shape
from api.store.tables import Table
from bench.own_postgresql import OwnPostgresql
from shared.errors import AccountRefused, StoreBusy, StoreRefused, StoreUnusable
from tests.api.store.conftest import NOON
from tests.archive_writes import UNTOLD

#: A browser that is signed in, as every version writes it.
BROWSER = "insert into web_sessions (token_sha256, account_id, form_token, made_at, ends_at"
SINCE = "1, 'f', '2026-03-04T12:00:00.000+00:00', '2026-03-05T00:00:00.000+00:00'"


def _old(number: int, source: str, version: int, stands: bool, record: str | None) -> dict[str, Any]:
    return {
        "id": number, "source": source, "version": version, "stands": stands, "signed": False,
        "record": record, "record_sha256": "0" * 64, "engine": "pocketsphinx", "rules_sha256": "r",
        "made_by_version": "1",
        "sheet_id": "wash-water-end-suction", "pump_type": "end suction", "pump_tag": "P-7",
        "started_at": "2026-03-04T12:00:00.000+00:00", "month": "2026-03", "running_hours": 8412.5,
        "counted": '[["record", "", 1, 0]]' if stands else "[]",
    }  # fmt: skip


#: Rows as the version before wrote them: two readings of a source of which one stands, and another source.
OLD: dict[str, list[dict[str, Any]]] = {
    "archived_records": [
        _old(1, "file:a", 1, False, None),
        _old(2, "file:a", 2, True, '{"words": "é; \'quoted\'"}'),
        _old(5, "file:b", 1, True, "{}"),
    ],
    "archived_utterances": [
        {
            "id": 3, "record_id": 2, "number": 0, "recording": "a", "start_s": 1.0, "end_s": 2.5,
            "words": "scored",
        },
    ],
    "archived_counts": [
        {
            # Numbers far from those that are given out next.
            "id": 90,
            "cell": '["2026-03", "wash-water-end-suction", "end suction", null, null, "record", ""]',
            "month": "2026-03", "sheet_id": "wash-water-end-suction",
            "pump_type": "end suction", "kind": "record", "key": "", "wanted": 2, "lacking": 0,
        },
    ],
}  # fmt: skip


def test_a_power_cut_takes_nothing_that_was_committed(tmp_path: Path) -> None:
    database = Database(database_url(tmp_path, None))
    with database.reading() as session:
        pragmas = {
            name: session.scalar(text(f"PRAGMA {name}"))
            for name in ("journal_mode", "synchronous", "foreign_keys")
        }
    # 2 is FULL: https://sqlite.org/pragma.html#pragma_synchronous
    assert pragmas == {"journal_mode": "wal", "synchronous": 2, "foreign_keys": 1}
    database.close()


def test_the_migrations_make_the_tables_that_are_mapped(database: Database) -> None:
    with database.reading() as session:
        # The index of words is the database's own kind of table, column or index, which no mapping knows.
        own = ("utterance_words", "words_vector", "ix_archived_utterances_words", "procrastinate")
        opts = {"compare_type": False, "include_name": lambda name, *_: not str(name).startswith(own)}
        context = MigrationContext.configure(session.connection(), opts=opts)
        assert compare_metadata(context, Table.metadata) == []


def test_migrating_twice_changes_nothing(database: Database) -> None:
    migrate(database)
    with database.reading() as session:
        assert session.scalar(text("select version_num from alembic_version")) == newest_shape()


@pytest.fixture(params=["sqlite", "postgresql"])
def empty_url(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """A database that no version has written to yet, of each kind."""
    if request.param == "sqlite":
        yield database_url(tmp_path, None)
        return
    server: OwnPostgresql = request.getfixturevalue("postgresql")
    yield server.make("empty")
    server.drop("empty")


def test_what_an_earlier_version_kept_stays_and_the_way_back_is_open(empty_url: str) -> None:
    database = Database(empty_url)
    with database.writing() as session:
        config = _config()
        config.attributes["connection"] = session.connection()
        command.upgrade(config, "0001")
        session.execute(
            text(
                "insert into accounts (id, name, shown_name, roles, made_at)"
                " values (1, 'a', 'A', '[\"technician\"]', '2026-03-04T12:00:00.000+00:00')"
            )
        )
        session.execute(text(f"{BROWSER}) values ('x', {SINCE})"))
    migrate(database)
    with database.reading() as session:
        assert session.scalar(text("select means from web_sessions")) == "secret"
        assert [account.name for account in all_accounts(session)] == ["a"]
    with database.writing() as session:
        session.execute(text(f"{BROWSER}, means) values ('y', {SINCE}, 'badge')"))
        config = _config()
        config.attributes["connection"] = session.connection()
        command.downgrade(config, "0001")
        # Where nobody knows of badges, one must not open what a secret opens.
        assert session.scalars(text("select token_sha256 from web_sessions")).all() == ["x"]
    migrate(database)
    with database.reading() as session:
        assert [account.name for account in all_accounts(session)] == ["a"]
    database.close()


def test_an_archive_of_the_shape_before_comes_through_whole(empty_url: str) -> None:
    database = Database(empty_url)

    def to(shape: str, way: Callable[..., None]) -> None:
        with database.writing() as session:
            config = _config()
            config.attributes["connection"] = session.connection()
            way(config, shape)

    def rows() -> dict[str, list[dict[str, Any]]]:
        with database.reading() as session:
            held = MetaData()
            held.reflect(session.connection(), only=list(OLD))
            return {
                name: [
                    {key: row[key] for key in OLD[name][0]}
                    for row in session.execute(select(held.tables[name]).order_by("id")).mappings()
                ]
                for name in OLD
            }

    to("0008", command.upgrade)
    with database.writing() as session:
        held = MetaData()
        held.reflect(session.connection(), only=list(OLD))
        for name, these in OLD.items():
            session.execute(insert(held.tables[name]), these)
    UNTOLD.clear()  # that version knew of no state
    migrate(database)
    assert rows() == OLD
    with database.reading() as session:
        # Columns that moved are as strict as they were, and figures may be kept by the state's name.
        assert state_of(session)
        (hit,) = search(session, Search("scored")).hits
        kept = session.scalar(select(ArchivedRecord.record).where(ArchivedRecord.id == hit.record.id))
        assert (hit.record.version, kept) == (2, '{"words": "é; \'quoted\'"}')
        assert session.scalar(select(func.count()).select_from(Table.metadata.tables["tasks"])) == 0
    with database.writing() as session:
        forget(session, "file:b")
    to("0008", command.downgrade)
    assert [row["source"] for row in rows()["archived_records"]] == ["file:a", "file:a"]
    assert [(row["wanted"], row["lacking"]) for row in rows()["archived_counts"]] == [(1, 0)]
    migrate(database)
    assert len(rows()["archived_records"]) == 2
    database.close()


def test_an_empty_archive_has_no_state_to_keep_figures_by(database: Database) -> None:
    with database.reading() as session:
        assert state_of(session) is None


def test_a_database_of_a_later_version_is_left_alone(database: Database) -> None:
    with database.writing() as session:
        session.execute(text("update alembic_version set version_num = '9999'"))
    with pytest.raises(StoreUnusable, match="another version of this program"):
        migrate(database)


def test_an_exception_keeps_nothing(database: Database) -> None:
    def the_second_is_refused() -> None:
        with database.writing() as session:
            for _ in range(2):
                make_account(session, name="a", shown_name="A", roles=["stores"], secret=None, now=NOON)

    with pytest.raises(AccountRefused):
        the_second_is_refused()
    with database.reading() as session:
        assert all_accounts(session) == []


def test_a_locked_database_is_said_to_be_locked(database: Database, shop_url: str) -> None:
    impatient = Database(shop_url, wait_s=0.05)
    with (
        database.writing(),
        pytest.raises(StoreBusy, match="another process holds the database"),
        impatient.writing(),
    ):
        pass
    with impatient.writing():
        pass  # the other is done: it gets its turn
    impatient.close()


def test_a_reader_sees_one_moment(database: Database) -> None:
    with database.reading() as session:
        assert all_accounts(session) == []
        with database.writing() as other:
            make_account(other, name="a", shown_name="A", roles=["stores"], secret=None, now=NOON)
        assert all_accounts(session) == []
    with database.reading() as session:
        assert [account.name for account in all_accounts(session)] == ["a"]


def test_what_a_reader_writes_is_not_kept(database: Database) -> None:
    with contextlib.suppress(InternalError), database.reading() as session:
        session.execute(text("insert into gauges (id, kind, made_at) values ('g', 'feeler', 'x')"))
    with database.reading() as session:
        assert session.scalar(text("select count(*) from gauges")) == 0


def test_a_value_that_it_cannot_hold_is_told_in_one_line(postgresql_url: str) -> None:
    database = Database(postgresql_url)
    with pytest.raises(StoreRefused, match="cannot take this value"), database.writing() as session:
        make_account(session, name="a", shown_name="A\0", roles=["stores"], secret=None, now=NOON)
    database.close()


def test_a_server_that_is_not_there_is_told_in_one_line(tmp_path: Path) -> None:
    database = Database(f"postgresql://nobody@/nothing?host={tmp_path}")
    with pytest.raises(StoreUnusable, match="its server runs") as told:
        migrate(database)
    assert "\n" not in str(told.value)
    database.close()


def test_two_writers_wait_for_each_other(database: Database) -> None:
    def write(names: range) -> None:
        for number in names:
            with database.writing() as session:
                before = len(all_accounts(session))
                make_account(
                    session,
                    name=f"n{number}",
                    shown_name=f"after {before}",
                    roles=["stores"],
                    secret=None,
                    now=NOON,
                )

    threads = [threading.Thread(target=write, args=(range(at, at + 10),)) for at in (0, 100, 200)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with database.reading() as session:
        # Each saw what the one before had written: nobody worked on a stale view.
        assert {account.shown_name for account in all_accounts(session)} == {f"after {n}" for n in range(30)}


def test_what_was_committed_is_there_after_kill_9(empty_url: str) -> None:
    writer = """
import os, signal, sys
from datetime import UTC, datetime
from api.store.accounts import make_account
from api.store.database import Database
from api.store.migrating import migrate
database = Database(sys.argv[1])
migrate(database)
rest = {"roles": ["stores"], "secret": None, "now": datetime.now(UTC)}
with database.writing() as session:
    make_account(session, name="kept", shown_name="Kept", **rest)
with database.writing() as session:
    make_account(session, name="lost", shown_name="Lost", **rest)
    os.kill(os.getpid(), signal.SIGKILL)
"""
    done = subprocess.run([sys.executable, "-c", writer, empty_url], cwd=Path(__file__).parents[3])
    assert done.returncode == -9
    again = Database(empty_url)
    with again.reading() as session:
        assert [account.name for account in all_accounts(session)] == ["kept"]
    again.close()


@pytest.mark.parametrize("url", ["no database", "nosuch://x", "mysql+pymysql://x/y"])
def test_a_database_that_is_none_is_told_in_one_line(url: str) -> None:
    with pytest.raises(StoreUnusable, match="WITNESSMARK_DATABASE_URL"):
        Database(url)


def test_a_folder_that_is_not_there_is_told_in_one_line(tmp_path: Path) -> None:
    absent = Database(database_url(tmp_path / "absent", None))
    with pytest.raises(StoreUnusable, match="unable to open"):
        migrate(absent)


def test_no_statement_is_compiled_and_what_the_url_sets_stays(postgresql_url: str) -> None:
    between = "&" if "?" in postgresql_url else "?"
    database = Database(f"{postgresql_url}{between}options=-c%20work_mem%3D7MB")
    with database.reading() as session:
        assert session.scalar(text("show jit")) == "off"
        assert session.scalar(text("show work_mem")) == "7MB"
    database.close()
