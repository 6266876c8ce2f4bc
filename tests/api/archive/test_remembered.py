"""Figures are made once for each state of the archive, and anew after whatever changes it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from api.archive.filing import ToFile, file_new, file_record, forget, let_stand, versions_of
from api.archive.remembered import remembered
from api.archive.signed_jobs import drop_unquoted
from api.store.archive_state import archive_changed
from api.store.archive_tables import ArchivedRecord
from api.store.database import Database, database_url
from tests.api.archive.test_filing import SAID, SOURCE, record
from tests.archive_writes import UNTOLD
from tests.present_shape import lay_present_shape

CHANGES: dict[str, Callable[[Session], object]] = {
    "another version filed": lambda session: file_record(session, record(SAID[:3]), source=SOURCE),
    "the same filed again": lambda session: file_record(session, record(), source=SOURCE),
    "many filed at once": lambda session: file_new(session, [ToFile(record(), "file:" + "b" * 64)]),
    "an older version stands": lambda session: let_stand(session, versions_of(session, SOURCE)[0]),
    "a source forgotten": lambda session: forget(session, SOURCE),
    "words erased": lambda session: drop_unquoted(session, "no such job", "001"),
}


@pytest.mark.parametrize("change", CHANGES)
def test_figures_are_kept_until_the_archive_changes(tmp_path: Path, change: str) -> None:
    lay_present_shape(tmp_path)
    database = Database(database_url(tmp_path, None))
    made: list[int] = []

    def counted() -> int:
        with database.reading() as session:
            return remembered(session, ("counted", change), lambda: made.append(1) or _records(session))

    with database.writing() as session:
        file_record(session, record(SAID[:2]), source=SOURCE)
        file_record(session, record(), source=SOURCE)
    assert (counted(), counted(), len(made)) == (2, 2, 1)
    with database.writing() as session:
        CHANGES[change](session)
    with database.reading() as session:
        now = _records(session)
    assert (counted(), len(made)) == (now, 2)
    database.close()


def test_what_was_not_kept_in_the_database_changes_nothing(tmp_path: Path) -> None:
    lay_present_shape(tmp_path)
    database = Database(database_url(tmp_path, None))
    with database.writing() as session:
        file_record(session, record(), source=SOURCE)
    with pytest.raises(RuntimeError, match="broken off"):
        _forget_and_break_off(database)
    with database.reading() as session:
        assert remembered(session, ("rolled back",), lambda: _records(session)) == 1
    database.close()


def _forget_and_break_off(database: Database) -> None:
    with database.writing() as session:
        forget(session, SOURCE)
        assert remembered(session, ("rolled back",), lambda: _records(session)) == 0
        raise RuntimeError("broken off")


def _records(session: Session) -> int:
    return session.scalar(select(func.count()).select_from(ArchivedRecord)) or 0


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("update archived_records set crew = 'late'", False),
        ("delete from archived_counts", False),
        ('DELETE  FROM "archived_utterances"', False),
        ("update tasks set worker = 'x'", True),
    ],
)
def test_the_watch_over_all_tests_sees_a_write_that_names_no_new_state(
    tmp_path: Path, change: str, told: bool
) -> None:
    lay_present_shape(tmp_path)
    database = Database(database_url(tmp_path, None))
    with database.writing() as session:
        file_record(session, record(), source=SOURCE)

    def broken_off() -> None:
        with database.writing() as session:
            session.execute(text(change))
            raise RuntimeError("broken off")

    with pytest.raises(RuntimeError, match="broken off"):
        broken_off()
    assert UNTOLD == []
    with database.writing() as session:
        session.execute(text(change))
        archive_changed(session)
    assert UNTOLD == []
    with database.writing() as session:
        session.execute(text(change))
    assert ([] if told else [change]) == UNTOLD
    UNTOLD.clear()
    database.close()
