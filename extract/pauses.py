"""Whether the recorder is paused, and what ends a pause; of what is said in one no word stays."""

from __future__ import annotations

from copy import copy
from dataclasses import dataclass

from extract.commands import Command, read_resume, resumes_alone
from extract.heard import Heard, prepare
from extract.job_talk import names_job
from extract.paused_talk import PausedTalk
from extract.pipeline import TalkPipeline
from extract.readings import ReadingRoom
from shared.job_sheet import JobSheet
from shared.record import NoteEntry


@dataclass(frozen=True)
class PauseEnd:
    """What ended a pause."""

    heard: Heard
    """The hearing in which the order is."""
    command: Command
    otherwise: bool
    """Whether only another hearing of the utterance has it, and that is nothing else."""


class Pauses:
    """The pauses of one rebuild."""

    def __init__(
        self, sheet: JobSheet, pipeline: TalkPipeline, readings: ReadingRoom, job_score_least: float
    ) -> None:
        self._pipeline = pipeline
        self._talk = PausedTalk(sheet, readings, job_score_least)
        self.on = False

    def copy(self) -> Pauses:
        """Return pauses that can go on by themselves."""
        made = copy(self)
        made._talk = self._talk.copy()
        return made

    def begin(self) -> None:
        """Nothing is filed from here on."""
        self.on = True

    def end_by(self, heard: Heard) -> PauseEnd | None:
        """End the pause where the words, or another hearing of them, order it."""
        found = self._ordered(heard)
        if found is not None:
            self.on = False
            self._talk.resume()
        return found

    def hear(self, heard: Heard) -> bool:
        """Look at what is said in a pause; tell whether it is talk of the job beyond doubt."""
        return self._talk.hear(heard)

    def notes(self) -> list[NoteEntry]:
        """Return what the record has to say of talk of the job in pauses."""
        return self._talk.notes()

    def _ordered(self, heard: Heard) -> PauseEnd | None:
        command = read_resume(heard, lambda words, named: self._is_job(heard, words, named))
        if command is not None:
            return PauseEnd(heard, command, False)
        for text in heard.utterance.alternatives:
            other = prepare(self._pipeline, heard.number, heard.utterance, text)
            command = resumes_alone(other) if other.tokens else None
            if command is not None:
                return PauseEnd(other, command, True)
        return None

    def _is_job(self, heard: Heard, words: str, by_name: bool) -> bool:
        rest = prepare(self._pipeline, heard.number, heard.utterance, words)
        return bool(rest.tokens) and ((by_name and names_job(rest)) or self._talk.is_job(rest))
