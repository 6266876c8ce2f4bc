"""One recording from before read, as a task: its record made in a folder of its own, then filed.

The folder is of one recording, sheet, engine and set of rules, so that work taken up goes on where it
stopped, and a newer reading lies beside an older one. Filing is one transaction with the end of the task.
"""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from api.archive.filing import Filing, file_record
from api.process import Processed, ProcessRequest, process_recording
from api.progress import Progress, progress_on
from api.record_making import RECORDING_RULE
from api.report.prepare import open_questions
from api.store.media import MediaStore, recording_name
from api.store.sheets import keep_sheet
from api.work.kinds import Keep, Place
from capture.sound import sound_sha256
from shared.errors import SoundUnreadable
from shared.job_sheet import JobSheet
from shared.record import Job

#: Under the data folder.
FOLDER = "past"


def past_source(recording_sha256: str) -> str:
    """Return what the archive calls the records of a recording from before by."""
    return f"file:{recording_sha256}"


def past_folder(data_folder: Path, recording_sha256: str, reading: str) -> Path:
    """Return where a reading of a recording from before is kept.

    Args:
        data_folder: of this machine.
        recording_sha256: of the recording's file.
        reading: names sheet, engine and rules.
    """
    return data_folder / FOLDER / recording_sha256 / reading


def read_recording(place: Place, payload: dict[str, Any]) -> Keep:
    """Read a recording and return what files its record.

    Args:
        place: where.
        payload: as :mod:`api.past.bringing_in` ordered it.

    Raises:
        RebuildError: it cannot be read or reached, or is not what was ordered any more.
    """
    wanted = payload["sha256"]
    media = MediaStore(place.settings.media_url) if place.settings.media_url else None
    recording = _recording_here(place, payload, media)
    sheet = JobSheet.model_validate(payload["sheet"])
    done = process_recording(
        ProcessRequest(
            recording=recording, sheet=sheet, out=past_folder(place.folder, wanted, payload["reading"]),
            engine=payload["engine"], model=payload["model"], job=Job(**payload["job"]),
        ),
        tell=lambda _: None,
        progress=_unseen,
    )  # fmt: skip
    filing = _filing(payload, done)
    if media is not None:
        _keep_for_all(media, done.folder, wanted, payload["reading"])

    def keep(session: Session) -> dict[str, Any]:
        # The sheet as it was read by: a later look needs it, whatever became of its file.
        keep_sheet(session, sheet, datetime.fromisoformat(payload["ordered_at"]))
        filed = file_record(session, done.record, source=past_source(wanted), sheet=sheet, filing=filing)
        return {
            **_told(done),
            "record": filed.id,
            "version": filed.version,
            "clock_doubt": filing.clock_doubt,
        }

    return keep


def _recording_here(place: Place, payload: dict[str, Any], media: MediaStore | None) -> Path:
    """Return the recording's file as it was ordered; from the media store where it is not here."""
    recording, wanted = Path(payload["recording"]), payload["sha256"]
    if media is not None and not recording.is_file():
        # Under its own name: evidence names the recording.
        recording = place.folder / FOLDER / wanted / recording.name
        if not recording.is_file():
            media.fetch(recording_name(wanted), recording, sha256=wanted)
    if sound_sha256(recording) != wanted:
        raise SoundUnreadable(
            "the file has changed since it was brought in", where=str(recording),
            remedy="give the same command again once nobody writes to it",
        )  # fmt: skip
    return recording


def _keep_for_all(media: MediaStore, folder: Path, recording_sha256: str, reading: str) -> None:
    """Keep what was made, journals too, where all machines reach it; what is there already stays."""
    for file in sorted(folder.rglob("*")):
        if file.is_file() and not file.name.startswith("."):
            name = f"{FOLDER}/{recording_sha256}/{reading}/{file.relative_to(folder).as_posix()}"
            media.put(name, file)


def _filing(payload: dict[str, Any], done: Processed) -> Filing:
    facts, when = payload["facts"], payload["when"]
    return Filing(
        engine=f"{done.record.made_by.engine} {done.record.made_by.model}".strip()[:128],
        rules_sha256=payload["rules_sha256"],
        crew=facts.get("crew"),
        running_hours=facts.get("running_hours"),
        started_at=_moment(when["began"]),
        ended_at=_moment(when["ended"]),
        clock_doubt=when["doubt"],
        talk=done.talk,
    )


def _moment(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None


def _told(done: Processed) -> dict[str, Any]:
    """Return what a summary tells: counts, and what the program itself remarked; nobody's words."""
    record = done.record
    remarks = [note.text for note in record.notes if note.evidence.rule == RECORDING_RULE]
    return {
        "folder": str(done.folder),
        "readings": sum(one.superseded_by is None for one in record.readings),
        "questions": len(open_questions(record)),
        "deviations": len(record.deviations),
        "missing": len(record.missing),
        "remarks": remarks,
    }


def _unseen(length_s: float | None) -> Progress:
    return progress_on(total_s=length_s, quiet=True)
