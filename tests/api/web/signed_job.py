"""A job as the bench leaves it: its sound heard by the scripted engine, its record handed over, signed."""

from __future__ import annotations

from pathlib import Path

from fastapi.testclient import TestClient

from api.listening import SOUND_JOURNAL
from api.live.bench_ear import BenchEar
from api.office.reviewing import under_review
from api.office.signing_off import MEANINGS
from api.people.sound_sum import sound_sum
from api.reading_rules import reading_rules_sha256
from api.store.accounts import by_secret
from api.store.drafts import keep_draft
from api.store.job_events import note
from api.store.jobs import begin_recording, job_of, open_job, turn_to
from api.web.shop import Shop
from capture.engines.scripted import ScriptedEngine
from capture.sound_blocks import Samples
from capture.sound_journal import SoundJournal, read_sound_journal
from extract.reviewing import deviation_key
from shared.job_sheet import load_job_sheet
from shared.record import Job, RebuildRecord
from tests.api.live.bench_sound import spoken
from tests.api.web.conftest import SECRET

SHEET = load_job_sheet("wash-water-end-suction")
SAID = (
    "front clearance vane one eighteen thou",
    "did you hear the brontosaurus last night",
    "vane two eighteen thou",
    "oh that pelican",
)


def handed_over(shop: Shop, *, work_order: str = "WO 12", said: tuple[str, ...] = SAID) -> str:
    """Return the id of a job of the technician's."""
    with shop.database.writing() as session:
        technician = by_secret(session, "technician", SECRET)
        assert technician is not None
        job = open_job(session, SHEET, work_order=work_order, by=technician, now=shop.now())
        row = begin_recording(session, job, by=technician, source="browser", settings={}, now=shop.now())
        record = heard(shop, shop.folder / row.folder, said, job.work_order)
        row.ended_at = shop.now()
        payload = {"recording": row.number, **sound_sum(shop.folder / row.folder).payload()}
        note(session, job.id, "recording_ended", payload, by=None, now=shop.now())
        rules = reading_rules_sha256(SHEET, shop.settings)
        keep_draft(session, job, record, rules_sha256=rules, now=shop.now())
        turn_to(job, "handed_over", seen=job.turn)
    return job.id


def heard(shop: Shop, folder: Path, said: tuple[str, ...], work_order: str) -> RebuildRecord:
    folder.mkdir(parents=True)
    sound = spoken(len(said))
    with SoundJournal.create(folder / SOUND_JOURNAL) as journal:
        journal.append(sound)
    ear = BenchEar(folder, SHEET, Job(work_order=work_order), ScriptedEngine(list(said)), shop.settings)
    list(ear.hear(sound))
    list(ear.finish())
    return ear.record()


def sign(reviewer: TestClient, shop: Shop, job: str) -> None:
    """Decide about all that is open, and sign."""
    decide(reviewer, shop, job)
    fields = {"seen": turn(shop, job), "secret": SECRET, "meaning": MEANINGS[0]}
    assert reviewer.post(f"/office/{job}/sign", data=fields).status_code == 303


def decide(reviewer: TestClient, shop: Shop, job: str) -> None:
    """Decide about all that is open."""
    with shop.database.reading() as session:
        it = under_review(session, job)
        doubtful = [row.line.id for row in it.review.rows if row.doubtful]
        open_ = [deviation_key(one) for one in it.record.deviations if one.disposition is None]
    decisions = [{"entry": one, "decision": "accepted"} for one in doubtful]
    decisions += [
        {"entry": one, "decision": "disposed", "disposition": "rework", "remark": "why"} for one in open_
    ]
    for fields in decisions:
        sent = reviewer.post(f"/office/{job}/decisions", data={**fields, "seen": turn(shop, job)})
        assert sent.status_code == 303, sent.text


def turn(shop: Shop, job: str) -> str:
    with shop.database.reading() as session:
        return str(job_of(session, job).turn)


def folder_of(shop: Shop, job: str) -> Path:
    with shop.database.reading() as session:
        return shop.folder / job_of(session, job).recordings[0].folder


def sound_of(shop: Shop, job: str) -> Samples:
    return read_sound_journal(folder_of(shop, job) / SOUND_JOURNAL).between(0, 1000)
