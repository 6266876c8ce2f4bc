"""The hours on a pump's meter: asked for at the start and in the office, never guessed."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import select

from api.store.archive_tables import ArchivedRecord
from api.store.hour_meter import hours_from
from api.store.job_events import chain_of
from api.store.jobs import job_of
from api.web.shop import Shop
from shared.errors import HoursRefused
from tests.api.web.signed_job import SHEET, handed_over, sign

AsRole = Callable[[str], TestClient]


@pytest.mark.parametrize(
    ("typed", "hours"), [("8412", 8412.0), (" 8412.5 h", 8412.5), ("12 345", 12345.0), ("", None), ("0", 0.0)]
)
def test_hours_are_read_as_they_are_typed(typed: str, hours: float | None) -> None:
    assert hours_from(typed) == hours


@pytest.mark.parametrize("typed", ["8,412", "about 8000", "-1", "nan", "inf", "2000000"])
def test_what_may_be_read_in_two_ways_is_refused(typed: str) -> None:
    with pytest.raises(HoursRefused, match="no reading of an hour meter"):
        hours_from(typed)


def test_hours_at_the_start_of_a_job(as_role: AsRole, shop: Shop) -> None:
    technician = as_role("technician")
    form = {"work_order": "WO 9", "sheet": SHEET.id, "running_hours": "8412.5"}
    job_id = technician.post("/bench/jobs", data=form).headers["location"].rpartition("/")[2]
    with shop.database.reading() as session:
        assert job_of(session, job_id).running_hours == 8412.5
        assert [link.kind for link in chain_of(session, job_id)] == ["opened", "hours_entered"]
    refused = technician.post("/bench/jobs", data={**form, "work_order": "WO 10", "running_hours": "8,4"})
    assert refused.status_code == 422
    assert "expected figures with a point" in refused.text


def test_hours_put_right_in_the_office_are_filed_with_the_record(as_role: AsRole, shop: Shop) -> None:
    reviewer = as_role("reviewer")
    job = handed_over(shop)
    for typed in ("9000", "9001.25"):
        assert reviewer.post(f"/office/{job}/hours", data={"running_hours": typed}).status_code == 303
    assert 'value="9001.25"' in reviewer.get(f"/office/{job}").text
    sign(reviewer, shop, job)
    with shop.database.reading() as session:
        assert session.scalar(select(ArchivedRecord.running_hours)) == 9001.25
    late = reviewer.post(f"/office/{job}/hours", data={"running_hours": "1"})
    assert late.status_code == 409
    assert "new revision" in late.text
