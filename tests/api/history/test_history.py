"""What a pump's history tells, and what it leaves to chance."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from pathlib import Path
from random import Random
from typing import get_args

import pytest

from api.history.as_found import readings_found, series_of
from api.history.findings_csv import findings_csv
from api.history.iso14224 import mechanism_of, possible_mode
from api.history.lasting import lasting, sooner_than_others, spans_of
from api.history.pump_page import pump_page, type_page
from api.history.rebuilds import PumpName, by_pump, pumps, rebuilds_of, rebuilds_of_type
from shared.errors import NotKept
from shared.job_sheet import load_job_sheet
from shared.record import Condition
from tests.api.history.filed import BEGIN, SHEET_ID, Archive, condition, reading

NOW = BEGIN + timedelta(days=1000)


def test_what_passed_between_rebuilds(archive: Archive) -> None:
    archive.rebuild("P-1", 200, running_hours=3000.0)
    archive.rebuild("P-1", 0, running_hours=500.0)
    archive.rebuild("P-1", 300)
    archive.rebuild("P-1", 350, stands=False)
    found = rebuilds_of(archive.session, PumpName("P-1"))
    assert [(one.days_since, one.hours_since) for one in found] == [(None, None), (200, 2500), (100, None)]


@pytest.mark.parametrize(
    ("serials", "hours", "doubt"),
    [
        (("A", "B"), (500.0, 900.0), "another pump stood here before"),
        (("A", "A"), (500.0, 20.0), "the meter showed less than the time before"),
        ((None, None), (500.0, 20.0), "the meter showed less than the time before"),
    ],
)
def test_hours_that_cannot_be_counted_on_are_not(
    archive: Archive, serials: tuple[str, str], hours: tuple[float, float], doubt: str
) -> None:
    for n in (0, 1):
        archive.rebuild("P-1", 100 * n, running_hours=hours[n], pump_serial=serials[n])
    last = rebuilds_of(archive.session, PumpName("P-1"))[-1]
    assert (last.hours_since, last.doubt) == (None, doubt)


def test_pumps_are_listed_by_tag_or_else_by_serial_number(archive: Archive) -> None:
    archive.rebuild("P-1", 0, pump_serial="S1")
    archive.rebuild("P-1", 9, pump_serial="S2")
    archive.rebuild(None, 5, pump_serial="S3")
    archive.rebuild(None, 6)
    rows, count = pumps(archive.session)
    assert [(one.name.shown, one.rebuilds) for one in rows] == [("P-1", 2), ("serial S3", 1)]
    assert count == 2
    assert [one.name.shown for one in pumps(archive.session, "s3")[0]] == ["serial S3"]
    assert pumps(archive.session, "100%")[0] == []
    assert PumpName("P 1/2").path == "/pumps/P%201/2"


def test_only_sure_as_found_readings_make_a_series(archive: Archive) -> None:
    name, unsure = PumpName("P-1"), reading("a", 9.0) | {"needs_review": True}
    for n in range(4):
        archive.rebuild(
            "P-1", 100 * n, reading("a", 1.0 + n), reading("a", 5.0) | {"stage": "as_left"}, unsure,
            reading("a", 7.0, fate="corrected"), running_hours=1000.0 * n if n else None,
        )  # fmt: skip
    rebuilds = rebuilds_of(archive.session, name)
    (only,) = series_of({name: rebuilds}, readings_found(archive.session, rebuilds))[name]
    assert [(point.x, point.value) for point in only.points] == [(1000, 2), (2000, 3), (3000, 4)]
    assert (only.axis, only.left_out, only.per_1000) == ("hours", 1, pytest.approx(1.0))


def test_without_hours_days_are_the_axis(archive: Archive) -> None:
    name = PumpName("P-1")
    for n in range(3):
        archive.rebuild("P-1", 100 * n, reading("a", 1.0))
    rebuilds = rebuilds_of(archive.session, name)
    (only,) = series_of({name: rebuilds}, readings_found(archive.session, rebuilds))[name]
    assert (only.axis, [point.x for point in only.points]) == ("days", [0, 100, 200])
    # One value throughout: no change, and no certainty of one either.
    assert not only.moves


def fill(archive: Archive) -> None:
    """A plant: readings that scatter, one that drifts, one seal that fails again and again, sooner."""
    rng = Random(4)
    for pump in range(1, 13):
        day, hours = rng.uniform(0, 80), rng.uniform(0, 3000)
        while day < 1000:
            drift = -0.00012 * hours / 1000 if pump == 3 else 0.0
            value = round(0.0200 + drift + rng.gauss(0, 0.0002), 4)
            failed = pump == 5 or rng.random() < 0.08
            archive.rebuild(
                f"P-{pump}", int(day), reading("front_clearance", value, "1"),
                *([condition("rotating_face", "heat_checked")] if failed else []),
                condition("casing", "worn" if rng.random() < 0.4 else "good"), running_hours=round(hours),
            )  # fmt: skip
            run = rng.weibullvariate(1400, 2.2) * (0.5 if pump == 5 else 1)
            day, hours = day + run / 15, hours + run


def test_what_was_planted_is_found_and_nothing_else(archive: Archive) -> None:
    fill(archive)
    it = type_page(archive.session, SHEET_ID, NOW)
    assert [(name.shown, one.series.item) for name, one in it.moving] == [("P-3", "front_clearance")]
    assert [(name.shown, one.part, one.condition) for name, one in it.repeats] == [
        ("P-5", "rotating_face", "heat_checked")
    ]
    assert [name.shown for name in it.sooner] == ["P-5"]
    assert it.whole
    falls = pump_page(archive.session, Path(), PumpName("P-3"), NOW)
    assert falls.series[0].words.startswith("Falls: -0.0001")
    again = pump_page(archive.session, Path(), PumpName("P-5"), NOW)
    assert again.comes_back_sooner
    # Worn casings come back everywhere: told, and not pointed at.
    assert [one.stands_out for one in again.repeats if one.part == "casing"] == [False]


def test_the_last_rebuild_of_every_pump_counts_as_long_as_it_has_lasted(archive: Archive) -> None:
    for day in (0, 100, 300):
        archive.rebuild("P-1", day)
    archive.rebuild("P-2", 600)
    of_type = by_pump(rebuilds_of_type(archive.session, SHEET_ID, 99))
    spans = [one for these in of_type.values() for one in spans_of(these, NOW)]
    assert sorted((one.days, one.ended) for one in spans) == [
        (100, True), (200, True), (400, False), (700, False),
    ]  # fmt: skip
    found = lasting(spans)
    assert found is not None
    # By hand: 3 of 4 last over 100 d, 2 of 4 over 200 d, and no more came back.
    assert (found.share_after(150), found.share_after(250), found.mean_whole) == (0.75, 0.5, False)
    assert found.mean == pytest.approx(100 + 0.75 * 100 + 0.5 * 500)


def test_too_few_spans_are_not_compared(archive: Archive) -> None:
    for day in (0, 10, 20):
        archive.rebuild("P-1", day)
        archive.rebuild("P-2", 40 * day)
    of_type = by_pump(rebuilds_of_type(archive.session, SHEET_ID, 99))
    spans = {name: spans_of(these, NOW) for name, these in of_type.items()}
    assert sooner_than_others(spans, PumpName("P-1")) is None


def test_an_unknown_pump_is_told_as_such(archive: Archive) -> None:
    with pytest.raises(NotKept, match="no rebuild of pump P-9"):
        pump_page(archive.session, Path(), PumpName("P-9"), NOW)


def test_findings_as_a_table_with_terms_of_the_standard(archive: Archive) -> None:
    archive.rebuild(
        "=P-1", 0, condition("seal", "cracked"), condition("casing", "good"),
        reading("front_clearance", 0.03, "2") | {"verdict": "outside"},
        reading("front_clearance", 0.018, "1"),
    )  # fmt: skip
    rebuilds = rebuilds_of(archive.session, PumpName("=P-1"))
    sheets = {SHEET_ID: load_job_sheet(SHEET_ID)}
    rows = list(csv.DictReader(io.StringIO(findings_csv(archive.session, rebuilds, sheets, iso=True))))
    told = [(one["finding"], one["part"] or one["item"], one["iso14224_mechanism"]) for one in rows]
    # ISO 14224:2016, table B.2: 2.5 breakage ("fracture, breach, crack"), 1.3 clearance/alignment failure
    assert told == [
        ("condition", "seal", "2.5"), ("condition", "casing", ""), ("reading", "front_clearance", "1.3"),
    ]  # fmt: skip
    assert rows[0]["iso14224_mode_to_ask_about"] == "ELP"
    assert rows[0]["iso14224_mode_mapping"] == "from memory"
    assert rows[0]["pump_tag"] == "'=P-1"  # no formula
    assert "iso14224_mechanism" not in findings_csv(archive.session, rebuilds, sheets)


@pytest.mark.parametrize(
    ("found_as", "code", "memory"),
    # ISO 14224:2016, table B.2, notes as quoted publicly: 1.4 "distortion, bending, buckling, denting,
    # yielding, blistering", 1.6 "sticking, seizure, jamming", 2.4 "scoring, galling, scuffing, fretting"
    [
        ("bent", "1.4", False), ("dented", "1.4", False), ("blistered", "1.4", False),
        ("seized", "1.6", False), ("scored", "2.4", False), ("fretted", "2.4", False),
        ("cracked", "2.5", False), ("corroded", "2.2", False), ("chipped", "2.5", True),
    ],
)  # fmt: skip
def test_mechanisms_are_those_of_the_standard(found_as: str, code: str, memory: bool) -> None:
    term = mechanism_of(found_as)
    assert term is not None
    assert (term.code, term.memory) == (code, memory)


def test_every_condition_has_a_mechanism_or_is_no_failure() -> None:
    assert {one for one in get_args(Condition) if mechanism_of(one) is None} == {"good", "even_wear"}
    assert possible_mode("casing") is None
