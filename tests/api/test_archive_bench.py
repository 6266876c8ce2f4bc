"""The archive that is measured is as large as it says, and each of its rebuilds can be found."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import func, select, text

from api.archive.searching import Search, search
from api.invented.filed_past import file_past
from api.invented.past import Past
from api.store.archive_tables import ArchivedCount, ArchivedEntry, ArchivedRecord
from api.store.database import Database, database_url
from api.store.migrating import migrate
from bench.archive_copies import double, drawn_for, with_indexes, without_indexes


def test_doubling_doubles_records_entries_words_and_counts(tmp_path: Path) -> None:
    database = Database(database_url(tmp_path, None))
    migrate(database)
    file_past(database, Past(6, 2))

    def sizes() -> list[int]:
        with database.reading() as session:
            counted = select(func.sum(ArchivedCount.wanted)).where(ArchivedCount.kind == "record")
            found = search(session, Search("seal"), page=1000).hits
            return [
                session.scalar(select(func.count(ArchivedRecord.id))) or 0,
                session.scalar(select(func.count(ArchivedEntry.id))) or 0,
                session.scalar(counted) or 0,
                len(found),
                len({hit.record.source for hit in found}),
            ]

    before = sizes()
    assert before[0] == 6
    assert before[3] > 3
    assert double(database) == 12
    assert sizes() == [2 * one for one in before]
    # Every copy is of a pump of its own.
    assert double(database) == 24
    with database.reading() as session:
        tags = [tag for tag in session.scalars(select(ArchivedRecord.pump_tag).distinct()) if tag]
    whole = {tag for tag in tags if not tag[-1].isalpha()}
    assert len(tags) == 4 * len(whole) > 4
    database.close()


def test_indexes_that_were_taken_away_come_back(postgresql_url: str) -> None:
    database = Database(postgresql_url)
    file_past(database, Past(3, 2))

    def shape() -> list[str]:
        indexes = text("select indexdef from pg_indexes where tablename like 'archived%' order by indexname")
        references = text("select conname from pg_constraint where contype = 'f' order by conname")
        with database.reading() as session:
            return [*session.scalars(indexes), *session.scalars(references)]

    before = shape()
    taken = without_indexes(database)
    assert len(taken) > 10
    double(database)
    with_indexes(database, taken)
    assert shape() == before
    database.close()


def test_as_few_are_drawn_as_doubling_makes_enough_of() -> None:
    assert drawn_for(100_000, 625) * 2**8 in range(100_000, 100_257)
    assert drawn_for(40, 625) == 40
