"""Signed jobs filed into the archive: at signing, and made anew whenever somebody wants it."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from pathlib import Path

from sqlalchemy import delete, select
from sqlalchemy.orm import Session

from api.archive.filing import Filing, file_record
from api.live.kept_said import kept_said
from api.record_versions import record_from
from api.store.archive_state import archive_changed
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, ArchivedUtterance
from api.store.database import Database
from api.store.drafts import draft_under_review
from api.store.jobs import job_of
from api.store.sheets import sheet_from
from api.store.tables import BenchJob, Revision, SheetText
from extract.answering import PRESSED
from shared.errors import JournalError, RebuildError
from shared.record import RebuildRecord
from shared.speech import Utterance

#: Two places of one utterance, as its journal and the record's evidence have it, seconds.
_SAME_PLACE_S = 0.011


def job_source(job_id: str) -> str:
    """Return what the archive calls the records of a job by."""
    return f"job:{job_id}"


def file_revision(session: Session, folder: Path, revision: Revision) -> ArchivedRecord:
    """File a signed record.

    Args:
        session: one that writes.
        folder: data folder, where the journals of the job lie.
        revision: as it is kept.
    """
    job = job_of(session, revision.job_id)
    record = record_of_revision(revision)
    by = {one.account_id for one in job.recordings}
    filing = Filing(
        job_id=job.id,
        signed=True,
        rules_sha256=draft_under_review(session, job.id).rules_sha256,
        # Whose work it was is known of one person alone; of several the record names all.
        technician_id=by.pop() if len(by) == 1 else None,
        bench=job.bench,
        pump_tag=job.pump_tag,
        pump_serial=job.pump_serial,
        work_order=job.work_order,
        running_hours=job.running_hours,
        started_at=job.recordings[0].begun_at if job.recordings else job.opened_at,
        ended_at=job.recordings[-1].ended_at if job.recordings else None,
        talk=_talk_of(job, folder, record),
    )
    # A revision that is not signed yet may go by a newer sheet already.
    sheet = session.get(SheetText, record.made_by.hashes.get("sheet", "")) or job.sheet
    return file_record(session, record, source=job_source(job.id), sheet=sheet_from(sheet), filing=filing)


def record_of_revision(revision: Revision) -> RebuildRecord:
    """Return the record that was signed."""
    record = json.dumps(json.loads(revision.signed)["record"])
    return record_from(record, where=f"signed revision {revision.number} of job {revision.job_id}")


def file_all_again(
    database: Database, folder: Path, told: Callable[[int, int], None] = lambda _done, _of: None
) -> tuple[int, list[str]]:
    """Make the whole archive anew: every signed revision, and every record from before.

    Each is a transaction of its own, so that benches and office work on meanwhile.

    Args:
        database: of the shop.
        folder: data folder.
        told: is told how many are done, and of how many.

    Returns:
        How many were filed, and, one line each, which could not be.
    """
    with database.reading() as session:
        revisions = session.scalars(select(Revision.id).order_by(Revision.job_id, Revision.number)).all()
        before = session.scalars(select(ArchivedRecord.id).where(ArchivedRecord.job_id.is_(None))).all()
    failed: list[str] = []
    steps: list[Callable[[Session], object]] = [
        *(lambda session, one=one: _refile_revision(session, folder, one) for one in revisions),
        *(lambda session, one=one: _refile_from_before(session, one) for one in before),
    ]
    for done, step in enumerate(steps, 1):
        try:
            with database.writing() as session:
                step(session)
        except (RebuildError, ValueError) as exc:
            failed.append(str(exc))
        told(done, len(steps))
    return len(steps) - len(failed), failed


def drop_unquoted(session: Session, job_id: str, recording: str) -> None:
    """Take a recording's words out of the archive that no entry quotes: they are the speaker's alone.

    Args:
        session: one that writes.
        job_id: of the job.
        recording: as evidence names it ("001").
    """
    ids = select(ArchivedRecord.id).where(ArchivedRecord.job_id == job_id)
    for number in session.scalars(ids).all():
        quoted = select(ArchivedEntry.utterance).where(
            ArchivedEntry.record_id == number, ArchivedEntry.utterance.is_not(None)
        )
        session.execute(
            delete(ArchivedUtterance).where(
                ArchivedUtterance.record_id == number,
                ArchivedUtterance.recording == recording,
                ArchivedUtterance.number.not_in(quoted),
            )
        )
    archive_changed(session)


def _refile_revision(session: Session, folder: Path, number: int) -> None:
    file_revision(session, folder, session.get_one(Revision, number))


def _refile_from_before(session: Session, number: int) -> None:
    kept = session.get_one(ArchivedRecord, number)
    record = record_from(kept.record or "", where=f"record {number} of the archive")
    said = select(ArchivedUtterance).where(ArchivedUtterance.record_id == number)
    talk = {
        one.number: Utterance(one.words, one.start_s, one.end_s, recording=one.recording)
        for one in session.scalars(said)
    }
    filing = Filing(
        signed=kept.signed, engine=kept.engine, rules_sha256=kept.rules_sha256,
        technician_id=kept.technician_id, technician=kept.technician, crew=kept.crew, bench=kept.bench,
        pump_tag=kept.pump_tag, pump_serial=kept.pump_serial, work_order=kept.work_order,
        running_hours=kept.running_hours, started_at=kept.started_at, ended_at=kept.ended_at,
        clock_doubt=kept.clock_doubt, talk=talk,
    )  # fmt: skip
    file_record(session, record, source=kept.source, filing=filing)


def _talk_of(job: BenchJob, folder: Path, record: RebuildRecord) -> dict[int, Utterance]:
    """Return the job talk that was kept, by number; nothing where it is not the talk that was read."""
    try:
        said = [one.utterance for recording in job.recordings for one in kept_said(folder / recording.folder)]
    except JournalError:
        return {}
    # What a button stood for nobody said.
    talk = {n: one for n, one in enumerate(said) if one.text.strip() and one.engine != PRESSED}
    return talk if all(_fits(talk, place) for place in _places(record)) else {}


def _places(record: RebuildRecord) -> Iterator[tuple[int, float]]:
    for entry in record.entries():
        if entry.evidence.utterance >= 0 and entry.evidence.words and entry.evidence.engine != PRESSED:
            yield entry.evidence.utterance, entry.evidence.start_s


def _fits(talk: dict[int, Utterance], place: tuple[int, float]) -> bool:
    number, start_s = place
    return number not in talk or talk[number].start_s <= start_s + _SAME_PLACE_S
