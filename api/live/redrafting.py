"""A record made again: pictures came after its recording was over, or the rules of reading changed since."""

from __future__ import annotations

from api.live.face_pairs import pair_notes
from api.live.kept_said import kept_said
from api.reading_rules import reading_rules_sha256
from api.record_making import new_builder
from api.store.drafts import keep_draft, newest_draft, record_of
from api.store.jobs import job_of
from api.store.sheets import keep_sheet, sheet_from
from api.store.tables import Account, BenchJob, Draft
from api.web.shop import Shop
from shared.errors import NotKept
from shared.job_sheet import JobSheet
from shared.photo import Photo
from shared.record import Job, RebuildRecord


def job_as_known(job: BenchJob, technician: str) -> Job:
    """Return what is known of a job before anybody speaks.

    Args:
        job: of the bench.
        technician: as he is shown.
    """
    return Job(
        work_order=job.work_order,
        pump_tag=job.pump_tag,
        pump_serial=job.pump_serial,
        technician=technician,
        started=job.opened_at.isoformat(timespec="seconds"),
    )


def draft_with_pictures(shop: Shop, job_id: str, photos: tuple[Photo, ...], by: Account) -> None:
    """Draft the record of a job again where the newest draft lacks one of its pictures.

    Args:
        shop: whose it is.
        job_id: of the job.
        photos: all that its bench took.
        by: who is signed in; named where nobody was before.

    Raises:
        NotKept: no such job.
        JournalError: what was heard cannot be read any more.
    """
    with shop.database.writing() as session:
        job, newest = job_of(session, job_id), newest_draft(session, job_id)
        before = record_of(newest) if newest is not None else None
        drafted = {photo.picture for photo in before.photos} if before is not None else set()
        if all(photo.picture in drafted for photo in photos):
            return
        sheet = sheet_from(job.sheet)
        record = _made(shop, job, sheet, photos, before, by)
        rules = reading_rules_sha256(sheet, shop.settings, asks=True)
        keep_draft(session, job, record, rules_sha256=rules, now=shop.now())


def draft_again(
    shop: Shop, job_id: str, photos: tuple[Photo, ...], by: Account, sheet: JobSheet | None = None
) -> Draft:
    """Read what was kept of a job again, by the present rules; the draft stands beside those before it.

    Args:
        shop: whose it is.
        job_id: of the job.
        photos: all that its bench took.
        by: who wants it.
        sheet: to read by, such as a newer one; None for the job's own.

    Raises:
        NotKept: no such job, or nothing was drafted yet.
        JournalError: what was heard cannot be read any more.
    """
    with shop.database.writing() as session:
        job, newest = job_of(session, job_id), newest_draft(session, job_id)
        if newest is None:
            raise NotKept(f"job {job_id!r} has no record yet")
        kept = keep_sheet(session, sheet, shop.now()) if sheet is not None else job.sheet
        by_sheet = sheet_from(kept)
        record = _made(shop, job, by_sheet, photos, record_of(newest), by)
        rules = reading_rules_sha256(by_sheet, shop.settings, asks=True)
        return keep_draft(session, job, record, rules_sha256=rules, now=shop.now(), sheet=kept)


def _made(
    shop: Shop,
    job: BenchJob,
    sheet: JobSheet,
    photos: tuple[Photo, ...],
    before: RebuildRecord | None,
    by: Account,
) -> RebuildRecord:
    technician = before.job.technician if before and before.job.technician else by.shown_name
    known = job_as_known(job, technician)
    builder = new_builder(sheet, known, shop.settings, asks=True)
    for recording in job.recordings:
        for said in kept_said(shop.folder / recording.folder):
            if said.about:
                builder.ask(said.about)
            builder.hear(said.utterance)
    for photo in photos:
        builder.see(photo)
    record = builder.record()
    record.notes += pair_notes(shop.folder / "jobs" / job.id, sheet, record)
    return record
