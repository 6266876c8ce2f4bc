"""What is said in a pause: its words stay nowhere, but talk of the job on and on is told of.

A pause whose end the tool did not understand would lose the rest of the job in silence. So what is
said in a pause is looked at, and dropped: where utterance after utterance would by itself be talk of
the job beyond doubt, the record says from when on, without a word of it and without an entry of it.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from extract.heard import Heard
from extract.ledger import Ledger
from extract.part_talk import read_part_talk
from extract.readings import ReadingRoom
from extract.talk_context import TalkContext
from extract.utterance_findings import gather
from shared.job_sheet import JobSheet
from shared.record import Evidence, NoteEntry
from shared.speech import Utterance

#: Kept instead of the words of such an utterance, so that the record can be made again from what was kept.
MARK = "(talk of the job while paused)"
#: Rule under which the record tells of it.
PAUSED_RULE = "paused"
#: So many are no accident; one or two may be said to somebody on the telephone.
_LEAST = 3
#: So many others may stand between two of them: what goes on with an item names it no more.
_MOST_BETWEEN = 5


@dataclass
class _Run:
    first: Utterance
    last: Utterance
    at: int
    """Number of its last utterance."""
    count: int = 1


@dataclass
class PausedTalk:
    """Looks at what is said in pauses, and remembers only from when to when it was of the job."""

    sheet: JobSheet
    readings: ReadingRoom
    job_score_least: float
    _runs: list[_Run] = field(default_factory=list)
    _open: bool = False

    def copy(self) -> PausedTalk:
        """Return what can go on by itself."""
        return replace(self, _runs=[replace(run) for run in self._runs])

    def resume(self) -> None:
        """A pause has ended; what comes in another begins anew."""
        self._open = False

    def hear(self, heard: Heard) -> bool:
        """Take in an utterance of a pause; tell whether it was talk of the job beyond doubt."""
        if heard.utterance.text != MARK and not self.is_job(heard):
            return False
        run = self._runs[-1] if self._runs and self._open else None
        if run is not None and (run.count >= _LEAST or heard.number - run.at <= _MOST_BETWEEN + 1):
            run.last, run.count, run.at = heard.utterance, run.count + 1, heard.number
        else:
            self._runs.append(_Run(heard.utterance, heard.utterance, heard.number))
        self._open = True
        return True

    def is_job(self, heard: Heard) -> bool:
        """Whether an utterance by itself is a reading with item, value and unit, or decides on a part."""
        score = heard.utterance.job_score
        if score is not None and score < self.job_score_least:
            return False
        context = TalkContext()
        parts = read_part_talk(self.sheet, heard, context)
        readings = self.readings.read(heard, context, Ledger())
        found = gather(self.sheet, heard, parts, readings, context)
        measured = any(
            d.sure and d.value is not None and d.said_unit is not None and "item said" in d.rule
            for d in found.readings
        )
        return measured or any(not d.unlisted and not d.doubts.reasons for d in found.parts)

    def notes(self) -> list[NoteEntry]:
        """Return what the record has to say of it: a question for each stretch of such talk."""
        found = [run for run in self._runs if run.count >= _LEAST]
        return [_note(number, run) for number, run in enumerate(found, 1)]


def _note(number: int, run: _Run) -> NoteEntry:
    evidence = Evidence(
        recording=run.first.recording, utterance=-1, start_s=run.first.start_s, end_s=run.last.end_s,
        words="", engine=run.first.engine, confidence=1.0, rule=PAUSED_RULE,
    )  # fmt: skip
    begin, end = _clock(run.first.start_s), _clock(run.last.end_s)
    text = f"what sounds like the job was said while paused, {begin} to {end}; none of it was filed"
    return NoteEntry(
        id=f"paused{number}", evidence=evidence, text=text, needs_review=True,
        reason=f"{text}: was the pause over, and is it to be said again",
    )  # fmt: skip


def _clock(seconds: float) -> str:
    minutes, rest = divmod(int(seconds), 60)
    return f"{minutes}:{rest:02d}"
