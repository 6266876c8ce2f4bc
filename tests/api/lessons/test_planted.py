"""What is planted in an invented past is pointed out, and what is chance in it is not."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import func, select

from api.history.pump_page import type_page
from api.invented import patterns as p
from api.invented.filed_past import file_past
from api.invented.past import Past
from api.lessons.behind import clips_behind, good_examples
from api.lessons.counted import Asked, groups_counted, months_counted, people_of_crews, sheets_counted
from api.lessons.figures import LEAST_PEOPLE, Figure, figures_of
from api.lessons.people_compared import group_rates, names_of
from api.lessons.stage_times import stage_times
from api.store.archive_tables import ArchivedRecord
from api.store.database import Database, database_url
from api.store.migrating import migrate

REBUILDS, SEED = 500, 7


@pytest.fixture(scope="module")
def past(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    database = Database(database_url(Path(tmp_path_factory.mktemp("past")), None))
    migrate(database)
    file_past(database, Past(REBUILDS, SEED))
    yield database
    database.close()


def figures(past: Database, sheet: str) -> list[Figure]:
    with past.reading() as session:
        asked = Asked(sheet)
        comparable = {
            crew for crew, count in people_of_crews(session, sheet).items() if count >= LEAST_PEOPLE
        }
        return figures_of(months_counted(session, asked), groups_counted(session, asked, "crew"), comparable)


@pytest.mark.long
def test_what_is_planted_is_pointed_out_and_nothing_else(past: Database) -> None:
    with past.reading() as session:
        assert sum(count for _, count in sheets_counted(session)) == REBUILDS
    every = {sheet: figures(past, sheet) for sheet in p.SHEETS}
    stand_out = {
        (sheet, one.kind, one.key) for sheet, all_ in every.items() for one in all_ if one.stands_out
    }
    rare = {
        (p.LIMIT.sheet, "limit", p.LIMIT.item),
        (p.SAID_WRONG.sheet, "corrected", f"reading:{p.SAID_WRONG.item}"),
    }
    planted = {
        (p.BY_CREW.sheet, "step", p.BY_CREW.step),
        (p.MORE_AND_MORE.sheet, "photo", p.MORE_AND_MORE.of),
    }
    assert rare <= stand_out <= rare | planted
    crews = {(sheet, one.key, one.groups) for sheet, all_ in every.items() for one in all_ if one.groups}
    assert crews == {(p.BY_CREW.sheet, p.BY_CREW.step, (p.BY_CREW.crew,))}
    changes = [
        (sheet, one.kind, one.key, one.rises) for sheet, all_ in every.items() for one in all_ if one.changes
    ]
    assert changes == [(p.MORE_AND_MORE.sheet, "photo", p.MORE_AND_MORE.of, True)]


@pytest.mark.long
def test_history_points_at_the_planted_pumps_and_at_no_other(past: Database) -> None:
    moving, repeats, sooner = set(), set(), set()
    with past.reading() as session:
        now = session.scalar(select(func.max(ArchivedRecord.ended_at)))
        assert now is not None
        for sheet in p.SHEETS:
            it = type_page(session, sheet, now)
            assert it.whole
            moving |= {(name.tag, one.series.item, one.series.position) for name, one in it.moving}
            repeats |= {(name.tag, one.part, one.condition) for name, one in it.repeats}
            sooner |= {name.tag for name in it.sooner}
    assert moving == {(p.DRIFT.pump_tag, p.DRIFT.item, p.DRIFT.position)}
    assert repeats == {(p.REPEAT.pump_tag, p.REPEAT.part, p.REPEAT.condition)}
    assert sooner == {p.REPEAT.pump_tag}


@pytest.mark.long
def test_a_figure_has_its_clips_and_good_examples(past: Database) -> None:
    asked = Asked(p.LIMIT.sheet)
    with past.reading() as session:
        missed = clips_behind(session, asked, "limit", p.LIMIT.item)
        well = good_examples(session, asked, "limit", p.LIMIT.item)
        forgotten = clips_behind(session, Asked(p.BY_CREW.sheet), "step", p.BY_CREW.step)
        corrected = clips_behind(
            session, Asked(p.SAID_WRONG.sheet), "corrected", f"reading:{p.SAID_WRONG.item}"
        )
    (figure,) = [
        one for one in figures(past, p.LIMIT.sheet) if (one.kind, one.key) == ("limit", p.LIMIT.item)
    ]
    assert len({one.record_id for one in missed}) == min(40, figure.lacking)
    assert all("outside" in one.what and one.words for one in missed)
    assert all("within" in one.what for one in well)
    assert all("put right" in one.what for one in corrected)
    assert corrected
    assert forgotten


@pytest.mark.long
def test_a_period_holds_only_its_months(past: Database) -> None:
    with past.reading() as session:
        (whole,) = months_counted(session, Asked(p.END_SUCTION), "record").values()
        middle = whole[len(whole) // 2].month
        (early,) = months_counted(session, Asked(p.END_SUCTION, until=middle), "record").values()
        (late,) = months_counted(session, Asked(p.END_SUCTION, since=middle), "record").values()
    assert [one.month for one in early] + [one.month for one in late[1:]] == [one.month for one in whole]


@pytest.mark.long
def test_people_stand_by_name_and_small_samples_say_so(past: Database) -> None:
    with past.reading() as session:
        tallies = groups_counted(session, Asked(p.BY_CREW.sheet), "technician_id", "step", p.BY_CREW.step)
        found = tallies["step", p.BY_CREW.step]
        rates = group_rates(found, names_of(session, found))
    assert [one.name for one in rates] == sorted(one.name for one in rates)
    assert {one.name for one in rates} <= {name for crew in p.CREWS.values() for name in crew} | {
        p.STAND_IN[1]
    }
    assert all(one.small for one in rates if one.name == p.STAND_IN[1])


@pytest.mark.long
def test_stage_times_are_those_of_the_records(past: Database) -> None:
    with past.reading() as session:
        times = stage_times(session, Asked(p.END_SUCTION))
    assert [one.stage for one in times][-1] == "whole"
    for one in times:
        quantiles = [one.quantile(share) for share in (0.1, 0.25, 0.5, 0.75, 0.9)]
        assert quantiles == sorted(quantiles)
        assert min(one.minutes) - 0.5 <= quantiles[0] <= quantiles[-1] <= max(one.minutes) + 0.5
