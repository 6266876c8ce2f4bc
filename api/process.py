"""Recording in, record and reports out; taken up where it stopped, as often as it takes.

Sound goes to its journal, utterances to theirs; the record and everything after it are made from
those alone, so that a run that was killed and started again ends with the same files.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from api.captions import captions
from api.listening import Listened, listen
from api.picture_keeping import PictureKeeper
from api.progress import Progress
from api.reading_rules import reading_rules_sha256
from api.record_making import RECORDING_RULE, Made, MadeWith, Remark, make_record, new_builder
from api.report.document import report_pdf
from api.report.page import report_html
from api.report.prepare import prepare_view
from api.report.view import ReportView
from api.report.wording import clock, counted
from api.sound_advice import sound_remarks
from api.work_folder import WorkFolder, WorkIdentity, open_work_folder
from capture.engines import open_engine
from capture.engines.engine import Engine
from capture.engines.speaker import Enrolled
from capture.photos import check_photo_folder
from capture.sound import read_sound, sound_sha256
from capture.speaker_files import find_speaker
from shared.job_sheet import JobSheet, load_job_sheet
from shared.record import Job, RebuildRecord
from shared.settings import Settings, load_settings
from shared.speech import Utterance

RECORD, PAGE, DOCUMENT, TRANSCRIPT = "record.json", "report.html", "report.pdf", "transcript.vtt"


@dataclass(frozen=True)
class ProcessRequest:
    """One piece of work."""

    recording: Path
    sheet: str | JobSheet
    """Id of a shipped sheet, a file, or the sheet itself."""
    out: Path
    photos: Path | None = None
    engine: str | None = None
    """None: as set, which is auto if nothing is."""
    model: str | None = None
    speaker: str | None = None
    """Name of an enrolled one."""
    job: Job = field(default_factory=Job)
    """What is known before anybody speaks."""
    asked: bool = False
    """Whether questions were put aloud as they arose, so that the words after one may answer it."""


@dataclass(frozen=True)
class Processed:
    """What came of it."""

    record: RebuildRecord
    view: ReportView
    folder: Path
    talk: Mapping[int, Utterance]
    """Job talk and commands by the number that evidence names them by."""


def process_recording(
    request: ProcessRequest, *, tell: Callable[[str], None], progress: Callable[[float | None], Progress]
) -> Processed:
    """Make a record and its reports from a recording.

    Args:
        request: what to do.
        tell: is told in one line what whoever waits should know: the engine and why, what was taken up.
        progress: makes the display, from the recording's length in seconds where it is known.

    Raises:
        RebuildError: it could not be done; what was captured and heard until then is kept in the folder.
    """
    settings = load_settings()
    sheet = request.sheet if isinstance(request.sheet, JobSheet) else load_job_sheet(request.sheet)
    recording = read_sound(request.recording)
    # What is quickly seen to be wrong is said before a vocabulary is compiled and a folder made.
    if request.photos is not None:
        check_photo_folder(request.photos)
    settings, enrolled = _for_speaker(request.speaker, settings)
    engine = open_engine(
        request.engine or settings.engine, sheet, model=request.model, settings=settings, enrolled=enrolled
    )
    tell(f"listening with {engine.name} ({engine.model}): {engine.reason}")
    identity = _identity(request, sheet, engine)
    with open_work_folder(request.out, identity) as folder:
        if folder.taken_up:
            tell(f"taking up the work in {folder.path}")
        keeper = PictureKeeper(folder, sheet, request.photos, request.recording)
        with progress(recording.duration_s) as display:
            listened = listen(
                recording,
                engine,
                folder,
                display,
                reader=new_builder(sheet, request.job, settings, asks=request.asked),
                rules=reading_rules_sha256(sheet, settings, asks=request.asked),
                tell=tell,
            )
        hashes = (("recording", identity.recording_sha256), ("engine", identity.engine_sha256))
        made = make_record(
            listened.utterances,
            sheet,
            request.job,
            MadeWith(engine.name, engine.model, hashes),
            settings,
            see=keeper.see,
            look=keeper.look,
            remarks=lambda: [*_recording_remarks(listened), *keeper.remarks],
            asks=request.asked,
        )
        view = _write(folder, made, sheet, keeper)
    return Processed(made.record, view, folder.path, dict(zip(made.numbers, made.talk, strict=True)))


def _for_speaker(name: str | None, settings: Settings) -> tuple[Settings, Enrolled | None]:
    """Return the settings for an enrolled speaker, and what an engine is told of him."""
    if name is None:
        return settings, None
    speaker = find_speaker(name, settings.cache_dir)
    # Never below what the shop has set: enrolment makes it more careful only.
    least = max(settings.reading_confidence_least, speaker.threshold or 0.0)
    return settings.model_copy(update={"reading_confidence_least": least}), speaker.enrolled


def _identity(request: ProcessRequest, sheet: JobSheet, engine: Engine) -> WorkIdentity:
    return WorkIdentity(
        recording=request.recording.name,
        recording_sha256=sound_sha256(request.recording),
        sheet=sheet.id,
        sheet_sha256=hashlib.sha256(sheet.model_dump_json(by_alias=True).encode()).hexdigest(),
        engine=f"{engine.name}, {engine.model}",
        engine_sha256=engine.identity,
    )


def _recording_remarks(listened: Listened) -> list[Remark]:
    end = listened.end
    remarks: list[Remark] = []
    if end.cut:
        remarks.append(Remark(RECORDING_RULE, f"The recording is {end.said}.", end.saved_s))
    if end.damage_count:
        places = ", ".join(f"{clock(start)} to {clock(stop)}" for start, stop in end.damage[:5])
        more = " and more" if end.damage_count > 5 else ""
        places = f"{counted(end.damage_count, 'place')}: {places}{more}"
        remarks.append(Remark(RECORDING_RULE, f"The recording is damaged and heard as silence at {places}."))
    remarks += sound_remarks(listened.check)
    if not listened.utterances:
        remarks.append(Remark(RECORDING_RULE, "No speech was found in the recording."))
    elif not any(utterance.text for utterance in listened.utterances):
        # Words that may not be kept are gone by now; what stays belongs to the job.
        taken = "What was heard was taken for chatter or for no speech at all"
        remarks.append(Remark(RECORDING_RULE, f"{taken}: nothing in the recording is about the job."))
    return remarks


def _write(folder: WorkFolder, made: Made, sheet: JobSheet, keeper: PictureKeeper) -> ReportView:
    record_json = made.record.to_json().encode()
    view = prepare_view(made.record, sheet, made.talk)
    pictures = keeper.shown(made.record.photos)
    folder.write(RECORD, record_json)
    folder.write(TRANSCRIPT, captions(made.talk).encode())
    folder.write(PAGE, report_html(view, pictures).encode())
    folder.write(DOCUMENT, report_pdf(view, pictures, record_json))
    return view
