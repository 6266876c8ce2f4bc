"""The ear of a bench in a process of its own: hearing takes a core, and the server must answer meanwhile.

What goes in: blocks of sound, pictures and presses of buttons, then None for the end. Out come
:class:`Ready`, :class:`Heard` for each utterance and press, :class:`HeardTo` where nothing was said,
:class:`PictureAsked` for each picture asked for in one, :class:`Seen` for each picture that came, then
:class:`Ended`, or :class:`Failed`.
"""

from __future__ import annotations

import logging
import os
import signal
from collections.abc import Iterator
from dataclasses import dataclass
from multiprocessing.connection import Connection
from pathlib import Path

from api.listening import SOUND_JOURNAL
from api.live.answers import Answer
from api.live.bench_ear import BenchEar, Spent, Told
from api.live.board import Board
from api.live.one_ear import alone_in
from api.live.pictures_asked import PicturesAsked
from api.live.presses import Press, Said
from api.operation.log_lines import write_json_lines
from api.reading_rules import reading_rules_sha256
from capture.engines import open_engine
from capture.sound_blocks import Samples
from capture.sound_journal import read_sound_journal
from capture.vocabulary.apart import compile_apart
from shared.errors import RebuildError
from shared.job_sheet import JobSheet
from shared.photo import Photo
from shared.record import Job
from shared.settings import Settings

#: Nicer than what hears ahead by so much (nice(2)): a third of its share where both want a core.
_BEHIND_EARLY = 5
#: Seconds of the recording: so often it is told how far the ear has come where nobody speaks.
_PLACE_EVERY_S = 1.0


@dataclass(frozen=True)
class EarWork:
    """What a process is to hear."""

    folder: Path
    """Of the recording."""
    sheet: JobSheet
    job: Job
    engine: str
    model: str | None
    settings: Settings
    earlier: tuple[Said, ...]
    saved_samples: int
    """So many are in the journal already; what comes after them comes in block by block."""
    photos: tuple[Photo, ...] = ()
    """Pictures of the job that were taken before."""


@dataclass(frozen=True)
class Known:
    """What the ear knows by now, for whoever hears ahead of it."""

    said: tuple[Said, ...]
    """Next, as far as it may be kept."""
    memory: tuple[float, ...]
    """What it learnt of the voice and the room."""
    place_s: float
    """Up to where the ear has heard everything, seconds of the recording."""
    anew: bool = False
    """Everything from the beginning of the job."""


@dataclass(frozen=True)
class Ready:
    """The ear hears."""

    engine: str
    board: Board
    known: Known | None = None


@dataclass(frozen=True)
class Heard:
    """One utterance was heard."""

    board: Board
    answer: Answer
    text: str
    ended_s: float
    known: Known | None = None
    """What was taken in, for whoever hears ahead."""
    spent: Spent | None = None
    """What it cost; None for a press."""


@dataclass(frozen=True)
class HeardTo:
    """The ear has come further, and nothing was said there."""

    known: Known


@dataclass(frozen=True)
class Seen:
    """A picture was taken into the record."""

    board: Board


@dataclass(frozen=True)
class Ended:
    """Everything was heard."""

    board: Board
    record: str
    """JSON of the contract."""
    rules_sha256: str


@dataclass(frozen=True)
class Failed:
    """The ear gave up; the sound is safe."""

    line: str


def run_ear(work: EarWork, pipe: Connection) -> None:
    """Hear until the end of the sound or of the pipe; the whole life of the process."""
    # Ctrl-C at the server's terminal goes to all; the server tells its ears itself.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if work.settings.provisional:
        # Where benches want more than there is, what is shown at once goes before what is kept.
        os.nice(_BEHIND_EARLY)
    write_json_lines(work.settings.log_level)
    try:
        _listen(work, pipe)
    except (EOFError, BrokenPipeError):
        return  # The server is gone: what is in the journals is heard when it is back.
    except RebuildError as exc:
        pipe.send(Failed(str(exc)))
    except Exception:
        # Python would print the message with it, which may hold what somebody said.
        logging.getLogger(__name__).exception("ear_stopped")
    finally:
        pipe.close()


def _listen(work: EarWork, pipe: Connection) -> None:
    if work.engine != "scripted":
        compile_apart(work.sheet, work.settings.cache_dir)
    engine = open_engine(work.engine, work.sheet, model=work.model, settings=work.settings)
    with alone_in(work.folder):
        _hear_out(
            work,
            BenchEar(work.folder, work.sheet, work.job, engine, work.settings, work.earlier),
            f"{engine.name}, {engine.model}",
            pipe,
        )


def _hear_out(work: EarWork, ear: BenchEar, engine: str, pipe: Connection) -> None:
    for photo in work.photos:
        ear.see(photo)
    before = list(ear.begun_with)
    for told in _saved(ear, work):
        before += [told.said] if told.said is not None else []
        pipe.send(_heard(told, ear))
    known = Known(tuple(before), ear.memory, ear.place_s, anew=True)
    pipe.send(Ready(engine, ear.board(), known))
    told_s = ear.place_s
    # What was asked for before it stopped, its bench still knows or has had.
    asked = PicturesAsked(ear.record())
    while (block := _next_block(pipe)) is not None:
        if isinstance(block, Photo):
            ear.see(block)
            pipe.send(Seen(ear.board()))
            continue
        for told in [ear.press(block)] if isinstance(block, Press) else ear.hear(block):
            pipe.send(_heard(told, ear))
            told_s = ear.place_s
            for picture in asked.new(ear.record()):
                pipe.send(picture)
        if ear.place_s >= told_s + _PLACE_EVERY_S:
            told_s = ear.place_s
            pipe.send(HeardTo(Known((), ear.memory, told_s)))
    for told in ear.finish():
        pipe.send(_heard(told, ear))
    rules = reading_rules_sha256(work.sheet, work.settings, asks=True)
    pipe.send(Ended(ear.board(), ear.record().to_json(), rules))


def _saved(ear: BenchEar, work: EarWork) -> Iterator[Told]:
    """Hear what was in the journal before this process began."""
    left = work.saved_samples
    if left:
        for block in read_sound_journal(work.folder / SOUND_JOURNAL).blocks():
            yield from ear.hear(block[:left])
            left -= len(block[:left])
            if not left:
                return


def _next_block(pipe: Connection) -> Samples | Photo | Press | None:
    block: Samples | Photo | Press | None = pipe.recv()
    return block


def _heard(told: Told, ear: BenchEar) -> Heard:
    known = Known((told.said,) if told.said is not None else (), ear.memory, ear.place_s)
    return Heard(told.board, told.answer, told.heard, told.ended_s, known, told.spent)
