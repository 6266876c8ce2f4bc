"""Enrolment as a command runs it: the list to read, the reading, what is kept, forgetting."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click

from api.report.wording import counted
from capture.engines.sphinx import SphinxEngine
from capture.enrolment import Enrolment, enrol
from capture.enrolment_phrases import enrolment_phrases
from capture.sound import read_sound
from capture.speaker_files import KnownSpeaker, check_name, forget_speaker, keep_speaker
from shared.errors import SoundNotFound
from shared.job_sheet import load_job_sheet
from shared.settings import load_settings

#: Whose vocabulary the phrases are heard with: they are of the bench, and none of its own.
_SHEET = "wash-water-end-suction"


def printed_enrolment() -> Iterator[str]:
    """Yield the list to read, with how to read it."""
    yield "# Read these in order, a pause after each, at the bench and into the microphone that you work"
    yield "# with; one recording, or a folder of one for each, named in order."
    yield "# Then: witnessmark enrol NAME --recordings PATH"
    for number, phrase in enumerate(enrolment_phrases(), 1):
        yield f"{number}. {phrase}"


def run_enrolment(name: str, recordings: Path) -> tuple[Enrolment, KnownSpeaker]:
    """Learn from recordings and keep what was learnt.

    Raises:
        RebuildError: it could not be done.
    """
    check_name(name)  # before minutes of listening, not after
    settings = load_settings()
    sheet = load_job_sheet(_SHEET)
    click.echo("listening to the phrases", err=True)
    engine = SphinxEngine(sheet, settings.cache_dir)
    enrolment = enrol([read_sound(path) for path in _files(recordings)], engine)
    return enrolment, keep_speaker(name, enrolment, settings.cache_dir)


def forget(name: str) -> None:
    """Remove what is kept of a speaker."""
    forget_speaker(name, load_settings().cache_dir)


def _files(recordings: Path) -> list[Path]:
    if not recordings.is_dir():
        return [recordings]
    found = sorted(path for path in recordings.iterdir() if path.is_file() and path.name[0] != ".")
    if not found:
        raise SoundNotFound("the folder holds no recording", where=str(recordings))
    return found


def enrolment_lines(enrolment: Enrolment, speaker: KnownSpeaker) -> Iterator[str]:
    """Yield what was learnt and what is kept of it."""
    of = len(enrolment_phrases())
    yield f"{speaker.name}: {counted(enrolment.phrases, 'phrase')} of {of} understood"
    yield f"  {enrolment.words_wrong} of {enrolment.words} words heard wrong"
    adapted = "the ear is adapted to it" if speaker.enrolled.transform else "too little to adapt the ear by"
    yield f"  in noise: {adapted}"
    if enrolment.shifts:
        yield f"  accent: {', '.join(f'{s.phone} said as {s.said}' for s in enrolment.shifts)}"
    if speaker.threshold is not None:
        yield f"  numbers less sure than {speaker.threshold:.2f} will be asked about"
    for finding in enrolment.check.findings:
        yield f"  ✗ {finding.text}"
    yield (
        f"Kept in {speaker.folder}: level, noise, counts, accent, threshold and the adaptation; no sound and"
        " no words. Enrol again where microphone or noise change."
    )
    yield f"Use it: witnessmark process … --speaker {speaker.name!r}; remove it: --forget"


def enrolment_json(enrolment: Enrolment, speaker: KnownSpeaker) -> dict[str, Any]:
    """Return the same for programs."""
    return {
        "name": speaker.name,
        "folder": str(speaker.folder),
        "phrases": enrolment.phrases,
        "words": enrolment.words,
        "words_wrong": enrolment.words_wrong,
        "adapted": enrolment.transform is not None,
        "accent": [{"phone": shift.phone, "said": shift.said} for shift in enrolment.shifts],
        "threshold": speaker.threshold,
        "findings": [{"code": f.code, "text": f.text} for f in enrolment.check.findings],
    }
