"""The archive that is measured is as large as it says, and each of its rebuilds can be found."""

from __future__ import annotations

from pathlib import Path

from sqlalchemy import func, select

from api.archive.searching import Search, search
from api.invented.filed_past import file_past
from api.invented.past import Past
from api.store.archive_tables import ArchivedCount, ArchivedEntry, ArchivedRecord
from api.store.database import Database, database_url
from api.store.migrating import migrate
from bench.archive_copies import double


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
    database.close()
