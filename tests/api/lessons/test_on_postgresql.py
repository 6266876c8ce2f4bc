"""The questions that lessons put to the archive are understood by a real PostgreSQL, too."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from api.invented.filed_past import file_past
from api.invented.past import Past
from api.lessons.behind import clips_behind, good_examples
from api.lessons.counted import KINDS, Asked, groups_counted, months_counted, people_of_crews, sheets_counted
from api.lessons.figures import figures_of
from api.lessons.stage_times import stage_times
from api.store.database import Database
from api.store.migrating import migrate


@pytest.fixture
def past(postgresql_url: str) -> Iterator[Database]:
    database = Database(postgresql_url)
    migrate(database)
    file_past(database, Past(6, 3))
    yield database
    database.close()


def test_every_question_is_answered(past: Database) -> None:
    with past.reading() as session:
        sheets = sheets_counted(session)
        assert sum(count for _, count in sheets) == 6
        asked = Asked(sheets[0][0], "2000-01", "2100-12")
        told = months_counted(session, asked)
        people = people_of_crews(session, asked.sheet_id)
        assert people
        figures = figures_of(told, groups_counted(session, asked, "crew"), people)
        assert {one.kind for one in figures} <= set(KINDS)
        assert groups_counted(session, asked, "technician_id", "record", "")
        times = stage_times(session, asked)
        assert [one.records for one in times if one.stage == "whole"] == [sheets[0][1]]
        for kind in KINDS:
            of_kind = [one for one in figures if one.kind == kind]
            assert of_kind
            for one in of_kind[:3]:
                assert len(clips_behind(session, asked, kind, one.key)) == min(40, one.lacking)
            assert any(good_examples(session, asked, kind, one.key) for one in of_kind)
