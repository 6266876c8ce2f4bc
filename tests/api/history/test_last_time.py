"""What a bench is told of the last time, and the pages as their people see them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from api.history.last_time import last_time
from api.store.accounts import make_account
from api.store.jobs import open_job
from api.store.tables import BenchJob
from shared.job_sheet import load_job_sheet
from tests.api.history.filed import BEGIN, SHEET_ID, Archive, condition, part, reading

SHEET = load_job_sheet(SHEET_ID)


def job_for(archive: Archive, tag: str | None, serial: str | None = None) -> BenchJob:
    by = make_account(
        archive.session, name="rae", shown_name="Rae Olsen", roles=["technician"], secret=None, now=BEGIN
    )
    at = BEGIN + timedelta(days=900)
    return open_job(
        archive.session, SHEET, work_order="WO 99", by=by, now=at, pump_tag=tag, pump_serial=serial
    )


def test_the_last_rebuild_of_the_same_pump_is_told_in_its_words(archive: Archive) -> None:
    archive.rebuild("P-1", 0, condition("seal", "torn"))
    newest = archive.rebuild(
        "P-1", 300, condition("stationary_seat", "scored", utterance=4), condition("casing", "good"),
        reading("front_clearance", 0.030, "1") | {"verdict": "outside"},
        reading("front_clearance", 0.018, "1") | {"stage": "as_left"},
        part("seal", "renewed"), condition("shaft", "bent", fate="struck"),
        {"kind": "deviation", "what": "against_policy", "text": "seal reused", "disposition": "use_as_is"},
        running_hours=8412.5,
    )  # fmt: skip
    archive.said(newest, 4, "the seat is scored")
    archive.rebuild("P-1", None, condition("seal", "torn"))
    archive.rebuild("P-2", 600, condition("seal", "torn"))
    told = last_time(archive.session, job_for(archive, "P-1"), SHEET)
    assert told is not None
    assert [(one.text, one.said) for one in told.found] == [
        ("stationary seat: scored", "the seat is scored"),
        ("front clearance, vane one: 0.03 in outside", ""),
    ]
    assert [one.text for one in told.left] == ["front clearance, vane one: 0.018 in"]
    assert [one.text for one in told.deviations] == ["against the sheet: seal reused (use as is)"]
    assert (told.renewed, told.hours, told.work_order) == (("seal",), 8412.5, "WO 2")
    assert told.history == "/pumps/P-1"


@pytest.mark.parametrize(("tag", "serial"), [("P-9", None), (None, None)])
def test_a_pump_that_was_never_here_has_no_last_time(
    archive: Archive, tag: str | None, serial: str | None
) -> None:
    archive.rebuild("P-1", 0)
    archive.rebuild(None, 0)
    assert last_time(archive.session, job_for(archive, tag, serial), SHEET) is None


def test_another_pump_under_the_same_tag_is_told_as_another(archive: Archive) -> None:
    archive.rebuild("P-1", 0, pump_serial="A-7")
    told = last_time(archive.session, job_for(archive, "P-1", "B-8"), SHEET)
    assert told is not None
    assert told.other_serial == "A-7"
