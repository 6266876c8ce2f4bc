"""From what was heard and seen to the record: the same input gives the same record, at any time."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from api.version import program_version
from extract.observer import NOBODY, Observer
from extract.record_builder import RecordBuilder
from shared.job_sheet import JobSheet
from shared.photo import FaceReport, Photo
from shared.record import EventEntry, Evidence, Job, NoteEntry, RebuildRecord
from shared.settings import Settings
from shared.speech import Utterance

#: What the notes about recording and pictures are filed under, so that the report can bring them first.
RECORDING_RULE = "recording"
PICTURE_RULE = "picture"


@dataclass(frozen=True)
class Remark:
    """Something that the program itself has to say of the work, for the record's notes."""

    rule: str
    text: str
    at_s: float = 0.0
    """Seconds from the start of the recording."""


@dataclass(frozen=True)
class Made:
    """A record and the talk that it was made from."""

    record: RebuildRecord
    talk: tuple[Utterance, ...]
    """Job talk and commands, in order; nothing of chatter, nothing said between pause and resume."""
    numbers: tuple[int, ...]
    """Of each of them, as evidence names it."""


@dataclass(frozen=True)
class MadeWith:
    """What heard the words, for the record's ``made_by``."""

    engine: str
    model: str = ""
    hashes: tuple[tuple[str, str], ...] = ()
    """SHA-256 by name, of what the record was made from."""


#: Asked for the pictures once the commands are known.
SeePictures = Callable[[Sequence[EventEntry]], Iterable[Photo]]
#: Gives the reports of those photos that show a seal face, by their name in the record.
LookAtFaces = Callable[[RebuildRecord], Mapping[str, FaceReport]]


def make_record(
    utterances: Sequence[Utterance],
    sheet: JobSheet,
    job: Job,
    made_with: MadeWith,
    settings: Settings,
    *,
    see: SeePictures = lambda _: (),
    look: LookAtFaces = lambda _: {},
    remarks: Callable[[], Sequence[Remark]] = tuple,
    observer: Observer = NOBODY,
    asks: bool = False,
) -> Made:
    """Make the record of one rebuild.

    Args:
        utterances: everything that was heard, in order.
        sheet: the job sheet.
        job: what is known of the job before anybody speaks; it goes before what was said.
        made_with: what heard.
        settings: from when on a reading is sure and talk is job talk.
        see: gives the photos; it is told of the pictures that were asked for.
        look: inspects those photos of the record so far that show a seal face.
        remarks: what else is to be noted; asked for last.
        observer: looks on while the utterances are read.
        asks: questions were put aloud as they arose, so that the words after one may answer it.
    """
    builder = new_builder(sheet, job, settings, observer, asks=asks)
    for utterance in utterances:
        builder.hear(utterance)
    photos = list(see(builder.record().events))
    for photo in photos:
        builder.see(photo)
    # Only now is known which part each photo shows.
    reports = look(builder.record()) if photos else {}
    for photo in photos:
        if photo.picture in reports:
            builder.see(photo.model_copy(update={"face_report": reports[photo.picture]}))
    record = builder.record()
    record.made_by.version = program_version()
    record.made_by.engine, record.made_by.model = made_with.engine, made_with.model
    record.made_by.hashes = {**record.made_by.hashes, **dict(made_with.hashes)}
    record.notes += [note_of(number, remark, made_with) for number, remark in enumerate(remarks(), 1)]
    numbers = [n for n in range(len(utterances)) if builder.talk_of(n) in ("job", "command")]
    return Made(record, tuple(builder.kept(n) for n in numbers), tuple(numbers))


def new_builder(
    sheet: JobSheet, job: Job, settings: Settings, observer: Observer = NOBODY, *, asks: bool = False
) -> RecordBuilder:
    """Return a builder that reads as the settings say; ``asks``: questions are put aloud as they arise."""
    return RecordBuilder(
        sheet,
        job,
        confidence_least=settings.reading_confidence_least,
        job_score_least=settings.job_score_least,
        observer=observer,
        asks=asks,
    )


def note_of(number: int, remark: Remark, made_with: MadeWith) -> NoteEntry:
    """Return a remark as the record's notes have it."""
    # No utterance: the number before the first says that nobody said it.
    evidence = Evidence(
        utterance=-1, start_s=remark.at_s, end_s=remark.at_s, words="", engine=made_with.engine,
        confidence=1.0, rule=remark.rule,
    )  # fmt: skip
    return NoteEntry(id=f"remark{number}", evidence=evidence, text=remark.text)
