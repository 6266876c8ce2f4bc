"""The register of gauges."""

from __future__ import annotations

from datetime import date

import pytest

from api.store.database import Database
from api.store.gauges import all_gauges, gauge_called, gauge_of, is_expired, keep_gauge
from shared.errors import GaugeRefused, NotKept
from tests.api.store.conftest import NOON


def keep(database: Database, gauge_id: str, until: str | None = "2027-01-31") -> None:
    with database.writing() as session:
        keep_gauge(session, gauge_id=gauge_id, kind="feeler", calibrated_until=until, now=NOON)


@pytest.mark.parametrize(
    ("until", "today", "expired"),
    [
        ("2026-03-04", date(2026, 3, 4), False),
        ("2026-03-03", date(2026, 3, 4), True),
        (None, date(2099, 1, 1), False),
    ],
)
def test_a_calibration_is_good_to_the_end_of_its_last_day(
    database: Database, until: str | None, today: date, expired: bool
) -> None:
    keep(database, "FG-1", until)
    with database.reading() as session:
        assert is_expired(gauge_of(session, "FG-1"), today) is expired


@pytest.mark.parametrize(
    ("called", "found"),
    [
        ("12", "FG-12"),
        ("FG12", "FG-12"),
        ("fg 12", "FG-12"),
        ("7", None),
        ("2", None),
        ("G-12", None),
        ("", None),
    ],
)
def test_a_gauge_is_meant_only_where_one_alone_can_be(
    database: Database, called: str, found: str | None
) -> None:
    for gauge_id in ("FG-12", "FG-7", "X-7"):
        keep(database, gauge_id)
    with database.reading() as session:
        gauge = gauge_called(session, "feeler", called)
        assert (gauge.id if gauge else None) == found
        assert gauge_called(session, "dial indicator", called) is None


def test_a_new_calibration_is_of_the_same_gauge(database: Database) -> None:
    keep(database, "FG-1", "2026-01-31")
    keep(database, "FG-1", "2027-01-31")
    with database.reading() as session:
        assert [one.calibrated_until for one in all_gauges(session)] == ["2027-01-31"]


@pytest.mark.parametrize(
    ("gauge_id", "until"), [("", None), ("<b>", None), ("FG-1", "next year"), ("FG-1", "2027-02-30")]
)
def test_what_is_no_gauge_is_refused(database: Database, gauge_id: str, until: str | None) -> None:
    with pytest.raises(GaugeRefused):
        keep(database, gauge_id, until)


def test_a_gauge_out_of_use_is_none(database: Database) -> None:
    keep(database, "FG-1")
    with database.writing() as session:
        gauge_of(session, "FG-1").closed_at = NOON
    with database.reading() as session, pytest.raises(NotKept):
        gauge_of(session, "FG-1")
