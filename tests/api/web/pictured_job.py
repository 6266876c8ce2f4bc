"""A bench job in the archive whose pictures presses took: kept, judged and drawn as a bench does it."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from api.archive.filing import Filing, file_record
from api.listening import SOUND_JOURNAL
from api.live.picture_files import PictureFiles
from api.store.job_pictures import PictureRow, keep_picture_row
from api.store.jobs import begin_recording, open_job
from api.store.tables import Account
from api.web.shop import Shop
from capture.sound_journal import SoundJournal
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import Job, Stage
from shared.speech import Utterance
from tests.api.live.bench_sound import spoken

SHEET = load_job_sheet("wash-water-end-suction")
#: Of what, at which stage, the picture's file.
Press = tuple[str, Stage, bytes]


def pictured_job(
    shop: Shop, technician: Account, presses: Sequence[Press], *, days: int = 0, pump_tag: str = "P-101",
    work_order: str = "WO 31", said: str = "the carbon is heat checked",
) -> str:  # fmt: skip
    """Make the job; return its id.

    Args:
        shop: where.
        technician: whose job it is.
        presses: pictures, ten seconds after one another from second 20.
        days: after 1 March 2026.
        pump_tag: of the pump.
        work_order: of the job.
        said: at second 2.
    """
    began = datetime(2026, 3, 1, 8, tzinfo=UTC) + timedelta(days=days)
    job = Job(
        work_order=work_order, pump_tag=pump_tag, sheet_id=SHEET.id, started=began.isoformat(),
        technician=technician.shown_name,
    )  # fmt: skip
    builder = RecordBuilder(SHEET, job)
    talk = Utterance(said, 2.0, 4.0, recording="001")
    builder.hear(talk)
    with shop.database.writing() as session:
        opened = open_job(session, SHEET, work_order=work_order, by=technician, now=shop.now())
        recording = begin_recording(
            session, opened, by=technician, source="browser", settings={}, now=shop.now()
        )
        folder = shop.folder / recording.folder
        folder.mkdir(parents=True)
        with SoundJournal.create(folder / SOUND_JOURNAL) as journal:
            journal.append(spoken(12))
        files = PictureFiles(shop.folder / "jobs" / opened.id, SHEET)
        for number, (of, stage, data) in enumerate(presses):
            digest = hashlib.sha256(data).hexdigest()
            row = PictureRow(digest, of, stage, "001", 20.0 + 10 * number, None, None, "browser")
            files.keep(data, row)
            keep_picture_row(session, opened.id, row, by=technician, now=shop.now())
            builder.see(files.photo(row))
        file_record(
            session, builder.record(), source=f"job:{opened.id}", sheet=SHEET,
            filing=Filing(
                job_id=opened.id, technician_id=technician.id, technician=technician.shown_name,
                talk={0: talk},
            ),
        )  # fmt: skip
    return opened.id
