"""A job goes from the bench to the office and back, and everything about it stays."""

from __future__ import annotations

from datetime import timedelta

import pytest

from api.signing.chain import first_break
from api.store.accounts import account_of
from api.store.database import Database
from api.store.drafts import draft_under_review, drafts_of, keep_draft, newest_draft, record_of
from api.store.job_events import chain_of, note
from api.store.jobs import begin_recording, job_of, jobs_in, open_job, turn_to
from api.store.reviews import decide, reviews_of
from api.store.revisions import keep_revision, revision_of, revisions_of
from api.store.sheets import sheet_from
from api.store.tables import Account, BenchJob, Table
from extract.record_builder import RecordBuilder
from shared.errors import NotKept, OutOfTurn
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance
from tests.api.store.conftest import NOON

SHEET = load_job_sheet("wash-water-end-suction")


@pytest.fixture
def job(database: Database, reviewer: Account) -> BenchJob:
    with database.writing() as session:
        return open_job(session, SHEET, work_order=" WO  7 ", by=reviewer, now=NOON)


def record(words: str = "vane one is thirty one thou"):  # type: ignore[no-untyped-def]
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance(words, 0.0, 2.0))
    return builder.record()


def test_the_work_order_that_is_open_is_opened_once(
    database: Database, reviewer: Account, job: BenchJob
) -> None:
    with database.writing() as session:
        assert open_job(session, SHEET, work_order="WO 7", by=reviewer, now=NOON).id == job.id
        assert [found.id for found in jobs_in(session, "open")] == [job.id]
        assert jobs_in(session, "signed") == []


def test_the_sheet_stays_as_it_was_when_the_job_began(database: Database, job: BenchJob) -> None:
    with database.reading() as session:
        assert sheet_from(job_of(session, job.id).sheet) == SHEET


def test_a_job_over_two_shifts_has_two_recordings(
    database: Database, reviewer: Account, job: BenchJob
) -> None:
    with database.writing() as session:
        kept = job_of(session, job.id)
        for shift in range(2):
            now = NOON + timedelta(hours=8 * shift)
            begin_recording(session, kept, by=reviewer, source="browser", settings={"rate": 48000}, now=now)
    with database.reading() as session:
        assert [one.folder for one in job_of(session, job.id).recordings] == [
            f"jobs/{job.id}/001", f"jobs/{job.id}/002",
        ]  # fmt: skip


def test_what_was_handed_over_takes_no_more_sound(
    database: Database, reviewer: Account, job: BenchJob
) -> None:
    with database.writing() as session:
        turn_to(job_of(session, job.id), "handed_over", seen=1)
    with pytest.raises(OutOfTurn, match="is handed over"), database.writing() as session:
        begin_recording(session, job_of(session, job.id), by=reviewer, source="file", settings={}, now=NOON)


@pytest.mark.parametrize("state", ["signed", "returned"])
def test_an_open_job_is_handed_over_before_anything_else(
    database: Database, job: BenchJob, state: str
) -> None:
    with pytest.raises(OutOfTurn, match="is open and cannot become"), database.writing() as session:
        turn_to(job_of(session, job.id), state, seen=1)  # type: ignore[arg-type]


def test_of_two_who_decide_at_once_the_second_is_told(
    database: Database, reviewer: Account, job: BenchJob
) -> None:
    with database.writing() as session:
        turn_to(job_of(session, job.id), "handed_over", seen=1)
        turn_to(job_of(session, job.id), "signed", seen=2)
    with pytest.raises(OutOfTurn, match="changed by somebody else"), database.writing() as session:
        turn_to(job_of(session, job.id), "returned", seen=2)


def test_events_are_a_chain_and_a_change_breaks_it(
    database: Database, reviewer: Account, job: BenchJob
) -> None:
    with database.writing() as session:
        for number in range(3):
            # The clock goes backwards; the chain does not care.
            note(session, job.id, "joined", {"n": number}, by=reviewer, now=NOON - timedelta(hours=number))
        assert first_break(chain_of(session, job.id)) is None
        table = Table.metadata.tables["job_events"]
        session.execute(table.update().where(table.c.number == 3).values(payload='{"n":7}'))
        session.expire_all()
        broken = first_break(chain_of(session, job.id))
    assert broken is not None
    assert (broken.number, broken.why) == (3, "it was changed after it was written")


def test_the_same_record_is_one_draft_and_another_stands_beside_it(database: Database, job: BenchJob) -> None:
    with database.writing() as session:
        kept = job_of(session, job.id)
        first = keep_draft(session, kept, record(), rules_sha256="a", now=NOON)
        assert keep_draft(session, kept, record(), rules_sha256="a", now=NOON).id == first.id
        keep_draft(session, kept, record("vane one is thirty two thou"), rules_sha256="b", now=NOON)
        assert [draft.number for draft in drafts_of(session, job.id)] == [1, 2]
        assert record_of(first) == record()


def test_a_newer_draft_never_takes_the_place_of_the_judged_one(
    database: Database, reviewer: Account, job: BenchJob
) -> None:
    with database.writing() as session:
        kept = job_of(session, job.id)
        first = keep_draft(session, kept, record(), rules_sha256="a", now=NOON)
        entry = record().readings[0]
        decide(
            session, kept, first, entry=entry.id, decision="corrected", was=entry.model_dump(mode="json"),
            now_is={"value": 0.032, "value_exact": "0.032"}, remark="heard wrong", by=reviewer, now=NOON,
            seen=1,
        )  # fmt: skip
        newer = keep_draft(session, kept, record("vane one is thirty two thou"), rules_sha256="b", now=NOON)
        assert draft_under_review(session, job.id).id == first.id
        found = newest_draft(session, job.id)
        assert found is not None
        assert found.id == newer.id
        (review,) = reviews_of(session, first)
        assert (review.was or {})["value_exact"] == "0.031"
        assert first_break(chain_of(session, job.id)) is None


def test_a_signed_record_is_not_decided_about(database: Database, reviewer: Account, job: BenchJob) -> None:
    with database.writing() as session:
        kept = job_of(session, job.id)
        draft = keep_draft(session, kept, record(), rules_sha256="a", now=NOON)
        turn_to(kept, "handed_over", seen=1)
        turn_to(kept, "signed", seen=2)
        keep_revision(
            session, kept, signed=b"{}", document=b"%PDF", by=account_of(session, reviewer.id), now=NOON
        )
        with pytest.raises(OutOfTurn, match="begin a new revision"):
            decide(
                session, kept, draft, entry="r1", decision="accepted", was=None, now_is=None, remark=None,
                by=reviewer, now=NOON, seen=3,
            )  # fmt: skip
        assert [one.number for one in revisions_of(session, job.id)] == [1]
        assert revision_of(session, job.id, 1).document == b"%PDF"
        with pytest.raises(NotKept, match="no signed revision 2"):
            revision_of(session, job.id, 2)


def test_a_job_that_is_not_there_is_said_not_to_be(database: Database) -> None:
    with pytest.raises(NotKept, match="no job 'x'"), database.reading() as session:
        job_of(session, "x")
    with pytest.raises(NotKept, match="no record yet"), database.reading() as session:
        draft_under_review(session, "x")
