"""Hears one recording of a bench as it comes in: cut into utterances, heard, read, kept, told.

It works from the journals of sound, words and presses alone. Begun again after a crash it hears what was not
heard yet and comes to the same entries; what was kept of earlier recordings of the job goes before.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from api.heard_journal import HeardJournal
from api.listening import HEARD_JOURNAL
from api.live.answers import Answer
from api.live.bench_talk import BenchTalk
from api.live.board import Board
from api.live.presses import PRESS_JOURNAL, Press, PressJournal, Said, said_by, said_in_order
from api.reading_rules import reading_rules_sha256
from capture.cut_off import doubted_where_cut_off
from capture.engines.engine import Engine
from capture.segments import Segment, SegmentCutter
from capture.sound import RATE_HZ
from capture.sound_blocks import Samples
from shared.job_sheet import JobSheet
from shared.photo import Photo
from shared.record import Job, RebuildRecord
from shared.settings import Settings


@dataclass(frozen=True)
class Spent:
    """What a phrase cost, seconds."""

    hearing: float
    reading: float


@dataclass(frozen=True)
class Told:
    """What an utterance or a press came to."""

    board: Board
    answer: Answer
    heard: str
    """The words, where they may be kept; chatter has none."""
    ended_s: float
    """Where in the recording the utterance ended, seconds."""
    said: Said | None = None
    """As far as it may be kept, or None where nothing was taken in."""
    spent: Spent | None = None
    """On an utterance; None for a press."""


class BenchEar:
    """The ear of one recording.

    Args:
        folder: of the recording; its journals lie there.
        sheet: of the job.
        job: what is known of it.
        engine: what hears.
        settings: of the shop.
        earlier: what was kept of the job's earlier recordings, in order.
    """

    def __init__(
        self,
        folder: Path,
        sheet: JobSheet,
        job: Job,
        engine: Engine,
        settings: Settings,
        earlier: Sequence[Said] = (),
    ) -> None:
        self._engine, self._recording = engine, folder.name
        self._talk = BenchTalk(sheet, job, settings)
        self._cutter = SegmentCutter()
        self._samples = 0
        self._unheard: list[Segment] = []
        """Cut off, and not heard yet."""
        rules = reading_rules_sha256(sheet, settings, asks=True)
        self._heard = HeardJournal(folder / HEARD_JOURNAL, rules)
        self._presses = PressJournal(folder / PRESS_JOURNAL)
        known = len(self._heard.heard)
        now = [press for press in self._presses.presses if press.after <= known]
        self._later = self._presses.presses[len(now) :]
        """Presses behind pieces of speech that other rules make it hear again."""
        self.begun_with = (*earlier, *said_in_order(self._heard.heard, now, self._recording))
        """What was said and pressed before, as far as it was kept."""
        for said in self.begun_with:
            self._talk.replay(said)
        engine.recall(self._heard.memory)

    def hear(self, block: Samples) -> Iterator[Told]:
        """Hear the next block (int16, mono, 16 kHz); yield what the utterances that it ended came to.

        Raises:
            EngineFailed: the engine gave up on a piece of sound.
            JournalFull: the disk took no more.
        """
        self._samples += len(block)
        yield from self._take(self._cutter.hear(block))

    def see(self, photo: Photo) -> None:
        """Take a picture of the job into the record."""
        self._talk.see(photo)

    def press(self, press: Press) -> Told:
        """Take in a button or key that was pressed now.

        Raises:
            JournalFull: the disk took no more.
        """
        placed = replace(press, after=len(self._heard.heard), at_s=self._samples / RATE_HZ)
        refused = self._talk.refuses(placed)
        if refused is not None:
            return Told(self.board(), refused, "", placed.at_s)
        self._presses.append(placed)
        said = said_by(placed, self._recording)
        answer = self._talk.hear(said)
        return Told(self.board(), answer, "", placed.at_s, said)

    def finish(self) -> Iterator[Told]:
        """Hear what the end of the recording ends."""
        yield from self._take(self._cutter.finish())
        self._replay_presses(len(self._heard.heard))
        self._heard.close()
        self._presses.close()

    def abandon(self) -> None:
        """Stop as a crash would: what was heard is kept, and another ear goes on."""
        self._heard.abandon()
        self._presses.close()

    @property
    def place_s(self) -> float:
        """Up to where everything was heard, seconds of the recording: speech that goes on is not.

        In silence speech may still begin a little before: :attr:`CuttingRules.pad_before_s` is left on.
        """
        if self._unheard:
            return self._unheard[0].start_s
        running = self._cutter.running
        return (self._samples if running is None else running.start) / RATE_HZ

    @property
    def memory(self) -> tuple[float, ...]:
        """What was learnt of the voice and the room."""
        return self._engine.memory

    def record(self) -> RebuildRecord:
        """Return the record so far."""
        return self._talk.record()

    def board(self) -> Board:
        """Return the board as it stands."""
        return self._talk.board()

    def _take(self, segments: Sequence[Segment]) -> Iterator[Told]:
        self._unheard = list(segments)
        for segment in segments:
            if segment.number < len(self._heard.heard):
                self._unheard.pop(0)
                continue  # Heard before the crash.
            self._replay_presses(segment.number)
            begun = time.perf_counter()
            utterance = self._engine.hear(segment)
            self._unheard.pop(0)
            heard_at = time.perf_counter()
            if utterance is None:
                self._heard.append(None, self._engine.memory)
                continue
            utterance = doubted_where_cut_off(utterance, segment.samples)
            answer = self._talk.hear(Said(replace(utterance, recording=self._recording)))
            kept = self._talk.kept()
            spent = Spent(heard_at - begun, time.perf_counter() - heard_at)
            self._heard.append(kept, self._engine.memory)
            yield Told(self.board(), answer, kept.text, utterance.end_s, Said(kept), spent)

    def _replay_presses(self, number: int) -> None:
        while self._later and self._later[0].after <= number:
            self._talk.replay(said_by(self._later.pop(0), self._recording))
