"""A filed record can be found, counted and taken away again without a trace."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from sqlalchemy import func, select, text
from sqlalchemy.orm import Session

from api.archive.filing import Filing, ToFile, file_new, file_record, forget, let_stand, versions_of
from api.store.archive_tables import ArchivedCount, ArchivedEntry, ArchivedRecord, ArchivedUtterance
from api.store.database import Database, database_url
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import Job, RebuildRecord
from shared.speech import Utterance
from tests.present_shape import lay_present_shape

SHEET = load_job_sheet("wash-water-end-suction")
SOURCE = "file:" + "a" * 64
SAID = (
    "front clearance vane one eighteen thou",
    "vane two thirty thou",
    "vane three eighteen thou correction nineteen thou",
    "the seal is renewed",
    "the stationary seat is scored",
)


@pytest.fixture
def database(tmp_path: Path) -> Iterator[Database]:
    lay_present_shape(tmp_path)
    opened = Database(database_url(tmp_path, None))
    yield opened
    opened.close()


@pytest.fixture
def session(database: Database) -> Iterator[Session]:
    with database.writing() as opened:
        yield opened


def record(said: tuple[str, ...] = SAID, started: str = "2026-03-04T08:00:00+00:00") -> RebuildRecord:
    job = Job(work_order="WO 7", pump_tag="P-101", technician="Rae Olsen", sheet_id=SHEET.id, started=started)
    builder = RecordBuilder(SHEET, job)
    for number, words in enumerate(said):
        builder.hear(Utterance(words, 10.0 * number, 10.0 * number + 3, recording="001"))
    return builder.record()


def counts(session: Session) -> dict[tuple[str, str], tuple[int, int]]:
    rows = session.scalars(select(ArchivedCount).execution_options(populate_existing=True))
    return {(one.kind, one.key): (one.wanted, one.lacking) for one in rows}


def test_every_entry_is_filed_with_its_place_in_the_sound(session: Session) -> None:
    made = record()
    filed = file_record(session, made, source=SOURCE)
    rows = session.scalars(select(ArchivedEntry).where(ArchivedEntry.record_id == filed.id)).all()
    by_kind = [row.kind for row in rows]
    assert by_kind.count("reading") == len(made.readings) == 4
    assert by_kind.count("missing") == len(made.missing) > 0
    assert by_kind.count("deviation") == len(made.deviations) == 1
    wide = next(row for row in rows if row.kind == "reading" and row.position == "2")
    assert (wide.item, wide.value, wide.unit, wide.verdict) == ("front_clearance", 0.030, "in", "outside")
    assert (wide.recording, wide.utterance, wide.start_s, wide.end_s) == ("001", 1, 10.0, 13.0)
    (scored,) = [row for row in rows if row.kind == "condition"]
    assert (scored.part, scored.what) == ("stationary_seat", "scored")
    assert [row.fate for row in rows if row.position == "3" and row.kind == "reading"] == ["corrected", None]
    assert (filed.month, filed.pump_tag, filed.pump_type) == ("2026-03", "P-101", SHEET.id)


def test_the_roll_up_counts_what_was_wanted_lacking_missed_and_corrected(session: Session) -> None:
    file_record(session, record(), source=SOURCE)
    file_record(session, record(SAID[:1]), source="file:" + "b" * 64)
    found = counts(session)
    assert found["record", ""] == (2, 2)
    assert found["reading", "front_clearance@1"] == (2, 0)
    assert found["reading", "front_clearance@2"] == (2, 1)
    assert found["part_decision", "seal"] == (2, 1)
    assert found["limit", "front_clearance@2"] == (1, 1)
    assert found["limit", "front_clearance@3"] == (1, 0)
    assert found["corrected", "reading:front_clearance@3"] == (1, 1)
    assert found["corrected", "reading:front_clearance@1"] == (2, 0)
    # Against the sheet itself, not the code that counts.
    assert found["step", "rotate_by_hand"] == (2, 2)
    wanted = sum(len(one.positions) or 1 for one in SHEET.measured.values() if one.required)
    assert sum(1 for kind, _ in found if kind == "reading") == wanted


def test_the_same_reading_filed_again_changes_nothing(session: Session) -> None:
    first = file_record(session, record(), source=SOURCE)
    before = counts(session), session.scalar(select(func.count(ArchivedEntry.id)))
    again = file_record(session, record(), source=SOURCE)
    assert again.id == first.id
    assert (counts(session), session.scalar(select(func.count(ArchivedEntry.id)))) == before


def test_another_reading_is_another_version_and_one_stands(session: Session) -> None:
    first = file_record(session, record(SAID[:2]), source=SOURCE)
    newer = file_record(session, record(), source=SOURCE, filing=Filing(rules_sha256="newer"))
    assert [(one.version, one.stands) for one in versions_of(session, SOURCE)] == [(1, False), (2, True)]
    whole = counts(session)
    assert whole["record", ""] == (1, 1)
    let_stand(session, first)
    assert counts(session)["part_decision", "seal"] == (1, 1)
    let_stand(session, newer)
    assert counts(session) == whole


def test_a_signed_version_stands_whatever_comes_later(session: Session) -> None:
    signed = file_record(session, record(), source=SOURCE, filing=Filing(signed=True))
    file_record(session, record(SAID[:2]), source=SOURCE, filing=Filing(rules_sha256="newer"))
    assert signed.stands
    later = file_record(session, record(SAID[:3]), source=SOURCE, filing=Filing(signed=True))
    assert (later.stands, signed.stands) == (True, False)
    # Filed again as a draft it is still signed.
    file_record(session, record(), source=SOURCE)
    assert (later.stands, signed.stands, signed.signed) == (True, False, True)


def test_what_is_forgotten_leaves_no_trace(session: Session) -> None:
    file_record(session, record(), source=SOURCE)
    file_record(session, record(SAID[:2]), source=SOURCE)
    forget(session, SOURCE)
    for table in (ArchivedRecord, ArchivedEntry, ArchivedUtterance, ArchivedCount):
        assert session.scalar(select(func.count()).select_from(table)) == 0
    assert session.scalar(text("select count(*) from utterance_words('clearance')")) == 0


def test_many_at_once_are_filed_as_one_by_one(session: Session) -> None:
    sources = ["file:" + letter * 64 for letter in "abc"]
    made = [record(SAID[: number + 2], f"2026-0{number + 1}-01T08:00:00+00:00") for number in range(3)]
    columns = (ArchivedEntry.kind, ArchivedEntry.item, ArchivedEntry.what, ArchivedEntry.value)
    for one, source in zip(made, sources, strict=True):
        file_record(session, one, source=source, sheet=SHEET)
    singly = counts(session), sorted(map(repr, session.execute(select(*columns)).all()))
    for source in sources:
        forget(session, source)
    file_new(session, [ToFile(one, source, SHEET) for one, source in zip(made, sources, strict=True)])
    assert (counts(session), sorted(map(repr, session.execute(select(*columns)).all()))) == singly
