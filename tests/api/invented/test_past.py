"""An invented past: the same for the same seed, passing as real, holding what its truth says and no more."""

from __future__ import annotations

import json
import statistics
from pathlib import Path

import pytest
from sqlalchemy import func, select

from api.archive.filing import ToFile
from api.cli import run
from api.invented import patterns as p
from api.invented.past import Past
from api.store.archive_tables import ArchivedRecord, ArchivedUtterance
from api.store.database import Database, database_url
from shared.record import ReadingEntry, RebuildRecord


@pytest.fixture(scope="module")
def rebuilds() -> list[ToFile]:
    return list(Past(400, 7).rebuilds())


def of_sheet(rebuilds: list[ToFile], sheet: str) -> list[ToFile]:
    return [one for one in rebuilds if one.record.job.sheet_id == sheet]


def share(rebuilds: list[ToFile], kind: str, name: str) -> float:
    forgot = [
        any((one.step or one.of) == name for one in it.record.missing if one.kind == kind) for it in rebuilds
    ]
    return sum(forgot) / len(forgot)


def measured(rebuilds: list[ToFile], tag: str, item: str, position: str) -> list[tuple[float, float]]:
    found: list[tuple[float, float]] = []
    for it in rebuilds:
        if it.record.job.pump_tag == tag and it.filing.running_hours is not None:
            found += [
                (it.filing.running_hours, one.value)
                for one in it.record.readings
                if (one.item, one.position) == (item, position) and one.standing and one.value is not None
            ]
    return found


def test_the_same_seed_makes_the_same_past_and_another_another(rebuilds: list[ToFile]) -> None:
    again = next(iter(Past(400, 7).rebuilds()))
    assert again.record == rebuilds[0].record
    assert again.source == rebuilds[0].source
    assert next(iter(Past(400, 8).rebuilds())).record != rebuilds[0].record
    assert len({one.source for one in rebuilds}) == len(rebuilds) == 400


def test_records_pass_as_real_ones_do(rebuilds: list[ToFile]) -> None:
    for it in rebuilds[::20]:
        assert RebuildRecord.model_validate_json(it.record.to_json()) == it.record
        assert it.record.job.technician == it.filing.technician
        numbers = [one.evidence.utterance for one in it.record.entries()]
        assert all(it.filing.talk[number].text for number in numbers)
        ids = {one.id for one in it.record.readings}
        assert all(one.superseded_by in ids for one in it.record.readings if one.superseded_by)


def test_a_crew_forgets_a_step_and_the_others_do_not(rebuilds: list[ToFile]) -> None:
    here = of_sheet(rebuilds, p.BY_CREW.sheet)
    night = [one for one in here if one.filing.crew == p.BY_CREW.crew]
    others = [one for one in here if one.filing.crew != p.BY_CREW.crew]
    assert share(night, "step", p.BY_CREW.step) > 0.2
    assert share(others, "step", p.BY_CREW.step) < 0.12
    # A step that nobody forgets oftener than others.
    assert share(night, "step", "rotate_by_hand") < 0.2


def test_one_bearing_drifts_and_another_only_scatters(rebuilds: list[ToFile]) -> None:
    drifting = measured(rebuilds, p.DRIFT.pump_tag, p.DRIFT.item, p.DRIFT.position)
    scattering = measured(rebuilds, p.SCATTER.pump_tag, p.SCATTER.item, p.SCATTER.position)
    assert len(drifting) >= 8
    assert len(scattering) >= 5
    assert statistics.correlation(*zip(*drifting, strict=True)) < -0.8
    slope, _ = statistics.linear_regression(*zip(*drifting, strict=True))
    assert slope * 1000 == pytest.approx(p.DRIFT.per_1000_hours, rel=0.5)
    slope, _ = statistics.linear_regression(*zip(*scattering, strict=True))
    assert abs(slope * 1000) < abs(p.DRIFT.per_1000_hours) / 2


def test_one_pump_fails_the_same_way_again_and_comes_back_sooner(rebuilds: list[ToFile]) -> None:
    here = [one for one in rebuilds if one.record.job.pump_tag == p.REPEAT.pump_tag]
    spoilt = [
        any((one.part, one.condition) == (p.REPEAT.part, p.REPEAT.condition) for one in it.record.conditions)
        for it in here
    ]
    assert sum(spoilt) / len(spoilt) > 0.7
    tags = [one.record.job.pump_tag for one in rebuilds]
    assert len(here) > 1.2 * statistics.mean(tags.count(tag) for tag in set(tags))


def test_a_photo_is_forgotten_more_and_more(rebuilds: list[ToFile]) -> None:
    here = of_sheet(rebuilds, p.MORE_AND_MORE.sheet)
    third = len(here) // 3
    assert share(here[:third], "photo", p.MORE_AND_MORE.of) < 0.2
    assert share(here[-third:], "photo", p.MORE_AND_MORE.of) > 0.25


def test_one_limit_is_missed_and_one_item_put_right_oftener(rebuilds: list[ToFile]) -> None:
    def rate(sheet: str, item: str, told: str) -> float:
        entries: list[ReadingEntry] = [
            one for it in of_sheet(rebuilds, sheet) for one in it.record.readings if one.item == item
        ]
        hit = [one.verdict == "outside" if told == "outside" else not one.standing for one in entries]
        return sum(hit) / len(hit)

    assert rate(p.LIMIT.sheet, p.LIMIT.item, "outside") > 0.1
    assert rate(p.LIMIT.sheet, "coupling_bolt_torque", "outside") < 0.08
    assert rate(p.SAID_WRONG.sheet, p.SAID_WRONG.item, "corrected") > 0.1
    assert rate(p.SAID_WRONG.sheet, "front_clearance", "corrected") < 0.08


def test_the_command_makes_a_data_folder_and_tells_the_truth(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "past"
    assert run(["demo", "--history", "12", "--seed", "3", "--out", str(out), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told == json.loads((out / "truth.json").read_text("utf-8"))
    assert (told["seed"], len(told["patterns"])) == (3, len(Past(12, 3).truth()["patterns"]))
    database = Database(database_url(out, None))
    with database.reading() as session:
        assert session.scalar(select(func.count(ArchivedRecord.id))) == 12
        assert session.scalar(select(func.count(ArchivedUtterance.id))) > 12 * 30
        assert session.scalar(select(func.count(ArchivedRecord.technician_id))) == 12
    database.close()
    assert run(["demo", "--history", "12", "--out", str(out)]) == 2
    assert "absent or empty" in capsys.readouterr().err
