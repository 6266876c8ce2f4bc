"""Who looks on while an utterance is read: told of each step, asked for nothing, able to change nothing.

A builder that nobody watches has an observer that does nothing, so that watching costs only where it is
wanted. What an observer is given is the reader's own; it must not change it.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.commands import Command
from extract.corrections import Run
from extract.heard import Heard
from extract.job_talk import Judged
from extract.part_talk import PartTalk
from extract.reading_drafts import ReadingDraft, ReadingTalk
from extract.search_board import Board
from extract.search_states import Filed, Found
from extract.talk_context import TalkContext
from extract.utterance_findings import Findings
from shared.record import Entry, EventEntry, UnfiledNumber
from shared.speech import Utterance


class Observer:
    """Sees nothing; one that wants to see takes over what it needs. In the order of the calls."""

    def heard(self, heard: Heard, paused: bool) -> None:
        """Words were cut into tokens, names and clauses; of an utterance with a pause in it each piece."""

    def before(self, context: TalkContext, commands: Sequence[Command]) -> None:
        """These words are to be read; ``context`` is what the talk was about before them."""

    def ways(
        self, heard: Heard, run: Run, board: Board, ways: Sequence[Found], accepted: Sequence[Filed]
    ) -> None:
        """A run of words was searched for readings; of the cheapest way those accepted may stand."""

    def doubted(self, rule: str, drafts: Sequence[ReadingDraft]) -> None:
        """A rule has looked at these readings and may have asked about some."""

    def read(self, heard: Heard, parts: PartTalk, findings: Findings, readings: ReadingTalk) -> None:
        """All that the words give is known, whether it will be filed or not."""

    def judged(self, judged: Judged) -> None:
        """It was decided whether the words are talk of the job."""

    def asked(self, drafts: Sequence[ReadingDraft]) -> None:
        """These numbers are asked about though the words are not taken for talk of the job."""

    def job_told(self, fields: Sequence[tuple[str, str]]) -> None:
        """These fields of the job were said, by name and value."""

    def event(self, event: EventEntry) -> None:
        """A command was carried out."""

    def left(self, numbers: Sequence[UnfiledNumber]) -> None:
        """These numbers made no reading."""

    def done(self, utterance: Utterance, talk: str, entries: Sequence[Entry]) -> None:
        """The utterance is read; these entries are new or changed."""


#: For everybody who is watched by nobody.
NOBODY = Observer()
