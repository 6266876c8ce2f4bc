"""A signed-off bench job with sound, kept words and its record in the archive, for lessons."""

from __future__ import annotations

from api.archive.filing import Filing, file_record
from api.heard_journal import HeardJournal
from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from api.store.jobs import begin_recording, open_job
from api.store.tables import Account
from api.web.shop import Shop
from capture.sound_journal import SoundJournal
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import Job
from shared.speech import Utterance, Word
from tests.api.live.bench_sound import spoken

SHEET = load_job_sheet("wash-water-end-suction")
#: Said at seconds 1.2, 4.0, 6.8 and 9.6, as ``spoken`` lays its words.
SAID = (
    "front clearance vane one sixty thou",
    "vane two eighteen thou",
    "hold on Rae vane three eighteen thou",
    "the seal is renewed",
)
STEP_S, FIRST_S, LONG_S = 2.8, 1.2, 1.6


def talk(said: tuple[str, ...] = SAID) -> list[Utterance]:
    found = []
    for number, text in enumerate(said):
        start = FIRST_S + STEP_S * number
        words = text.split()
        each = LONG_S / len(words)
        timed = tuple(Word(one, start + n * each, start + (n + 1) * each) for n, one in enumerate(words))
        found.append(Utterance(text, start, start + LONG_S, words=timed, recording="001"))
    return found


def taught_job(
    shop: Shop, technician: Account, work_order: str = "WO 12", started: str = "2026-03-04"
) -> str:
    """Make the job; return its id."""
    said = talk()
    job = Job(
        work_order=work_order, pump_tag="P-101", sheet_id=SHEET.id, started=f"{started}T08:00:00+00:00",
        technician=technician.shown_name,
    )  # fmt: skip
    builder = RecordBuilder(SHEET, job)
    for one in said:
        builder.hear(one)
    with shop.database.writing() as session:
        opened = open_job(session, SHEET, work_order=work_order, by=technician, now=shop.now())
        recording = begin_recording(
            session, opened, by=technician, source="browser", settings={}, now=shop.now()
        )
        folder = shop.folder / recording.folder
        file_record(
            session, builder.record(), source=f"job:{opened.id}", sheet=SHEET,
            filing=Filing(
                job_id=opened.id, technician_id=technician.id, technician=technician.shown_name, crew="early",
                talk=dict(enumerate(said)),
            ),
        )  # fmt: skip
    folder.mkdir(parents=True)
    with SoundJournal.create(folder / SOUND_JOURNAL) as journal:
        journal.append(spoken(len(said)))
    journal_of_words = HeardJournal(folder / HEARD_JOURNAL, "rules")
    for one in said:
        journal_of_words.append(one)
    journal_of_words.close()
    return opened.id
