"""A signed record stands in the archive when it is signed; what its speaker alone may have goes."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlalchemy import delete, select

from api.archive.signed_jobs import file_all_again
from api.store.archive_state import archive_changed
from api.store.archive_tables import (
    ArchivedCount,
    ArchivedEntry,
    ArchivedRecord,
    ArchivedStage,
    ArchivedUtterance,
)
from api.web.shop import Shop
from tests.api.web.signed_job import SAID, handed_over, sign

#: Said about the job, and quoted by no entry.
UNQUOTED = "right the impeller bolt"


@pytest.fixture
def reviewer(as_role: Callable[[str], TestClient]) -> TestClient:
    return as_role("reviewer")


def words(shop: Shop) -> list[str]:
    with shop.database.reading() as session:
        return list(session.scalars(select(ArchivedUtterance.words).order_by(ArchivedUtterance.number)))


def test_a_record_is_filed_when_it_is_signed_and_chatter_is_not(shop: Shop, reviewer: TestClient) -> None:
    job = handed_over(shop)
    assert words(shop) == []
    sign(reviewer, shop, job)
    with shop.database.reading() as session:
        filed = session.scalars(select(ArchivedRecord)).one()
        readings = session.scalars(select(ArchivedEntry).where(ArchivedEntry.kind == "reading")).all()
    assert (filed.source, filed.signed, filed.stands) == (f"job:{job}", True, True)
    assert (filed.technician, filed.work_order, filed.month) == ("Some technician", "WO 12", "2026-03")
    assert filed.technician_id is not None
    assert [(one.item, one.position, one.value) for one in readings] == [
        ("front_clearance", "1", 0.018), ("front_clearance", "2", 0.018),
    ]  # fmt: skip
    assert words(shop) == [SAID[0], SAID[2]]


@pytest.mark.long
def test_the_archive_made_anew_is_the_same(shop: Shop, reviewer: TestClient) -> None:
    sign(reviewer, shop, handed_over(shop))
    sign(reviewer, shop, handed_over(shop, work_order="WO 13"))

    def shown() -> list[str]:
        with shop.database.reading() as session:
            counts = session.scalars(select(ArchivedCount)).all()
            entries = session.scalars(select(ArchivedEntry)).all()
        kept = [f"{one.cell} {one.wanted} {one.lacking}" for one in counts]
        return sorted([*kept, *(f"{one.kind} {one.item} {one.what} {one.value}" for one in entries)])

    before = shown()
    assert file_all_again(shop.database, shop.folder) == (2, [])
    assert shown() == before
    with shop.database.writing() as session:
        for table in (ArchivedEntry, ArchivedUtterance, ArchivedStage, ArchivedCount):
            session.execute(delete(table))
        session.execute(delete(ArchivedRecord))
        archive_changed(session)
    assert file_all_again(shop.database, shop.folder) == (2, [])
    assert shown() == before


def test_words_that_no_entry_quotes_go_with_the_sound_that_its_speaker_has_erased(
    shop: Shop, reviewer: TestClient, as_role: Callable[[str], TestClient], app: FastAPI
) -> None:
    job = handed_over(shop, said=(*SAID, UNQUOTED))
    sign(reviewer, shop, job)
    assert words(shop) == [SAID[0], SAID[2], UNQUOTED]
    with shop.database.reading() as session:
        account = session.scalar(select(ArchivedRecord.technician_id))
    assert as_role("admin").post(f"/accounts/{account}/recordings/erase").status_code == 303
    assert words(shop) == [SAID[0], SAID[2]]
    file_all_again(shop.database, shop.folder)
    assert words(shop) == [SAID[0], SAID[2]]
