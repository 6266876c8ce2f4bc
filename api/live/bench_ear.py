"""Hears one recording of a bench as it comes in: cut into utterances, heard, read, kept, told.

It works from the sound's journal alone. Begun again after a crash it hears what was not heard yet and
comes to the same entries; what was kept of earlier recordings of the job goes before.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from api.heard_journal import HeardJournal
from api.listening import HEARD_JOURNAL
from api.live.answers import Answer, answer_to, what_is_left
from api.live.board import Board, board_of, line_of
from api.reading_rules import reading_rules_sha256
from api.record_making import new_builder
from capture.engines.engine import Engine
from capture.segments import Segment, SegmentCutter
from capture.sound_blocks import Samples
from extract.record_builder import RecordBuilder
from shared.job_sheet import JobSheet
from shared.photo import Photo
from shared.record import Job, RebuildRecord
from shared.settings import Settings
from shared.speech import Utterance


@dataclass(frozen=True)
class Told:
    """What an utterance came to."""

    board: Board
    answer: Answer
    heard: str
    """The words, where they may be kept; chatter has none."""
    ended_s: float
    """Where in the recording the utterance ended, seconds."""


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
        earlier: Sequence[Utterance] = (),
    ) -> None:
        self._sheet, self._engine, self._recording = sheet, engine, folder.name
        self._builder: RecordBuilder = new_builder(sheet, job, settings)
        self._cutter = SegmentCutter()
        self._heard = HeardJournal(folder / HEARD_JOURNAL, reading_rules_sha256(sheet, settings))
        for utterance in (*earlier, *self._heard.utterances()):
            self._builder.hear(utterance)
        engine.recall(self._heard.memory)

    def hear(self, block: Samples) -> Iterator[Told]:
        """Hear the next block (int16, mono, 16 kHz); yield what the utterances that it ended came to.

        Raises:
            EngineFailed: the engine gave up on a piece of sound.
            JournalFull: the disk took no more.
        """
        yield from self._take(self._cutter.hear(block))

    def see(self, photo: Photo) -> None:
        """Take a picture of the job into the record."""
        self._builder.see(photo)

    def finish(self) -> Iterator[Told]:
        """Hear what the end of the recording ends."""
        yield from self._take(self._cutter.finish())
        self._heard.close()

    def abandon(self) -> None:
        """Stop as a crash would: what was heard is kept, and another ear goes on."""
        self._heard.abandon()

    def record(self) -> RebuildRecord:
        """Return the record so far."""
        return self._builder.record()

    def board(self) -> Board:
        """Return the board as it stands."""
        return board_of(self._builder.record(), self._sheet)

    def _take(self, segments: Sequence[Segment]) -> Iterator[Told]:
        for segment in segments:
            if segment.number < len(self._heard.heard):
                continue  # Heard before the crash.
            utterance = self._engine.hear(segment)
            if utterance is None:
                self._heard.append(None, self._engine.memory)
                continue
            yield self._told(replace(utterance, recording=self._recording))

    def _told(self, utterance: Utterance) -> Told:
        before = {question.id for question in self._builder.record().questions}
        changed = self._builder.hear(utterance)
        kept = self._builder.kept(-1)
        self._heard.append(kept, self._engine.memory)
        board = self.board()
        asked = [question for question in board.questions if question.id not in before]
        answer = answer_to([line_of(entry, self._sheet) for entry in changed], asked, board)
        if board.finished:
            answer = answer.model_copy(update={"say": what_is_left(board)})
        return Told(board, answer, kept.text, utterance.end_s)
