"""Two engines on every utterance that carries a number: where they differ, it becomes a question.

A wrong number that looks right is the worst this program can do, and no engine knows when it misheard.
Two that hear in different ways seldom mishear alike.
"""

from __future__ import annotations

from dataclasses import replace

from capture.engines.engine import Engine, SegmentEngine, hash_of
from capture.engines.numbers_heard import carries_number, same_numbers
from capture.segments import Segment
from shared.errors import EngineFailed
from shared.speech import Utterance


class SecondOpinion(SegmentEngine):
    """Hears with one engine and asks another about numbers."""

    def __init__(self, first: Engine, second: Engine, *, judges_chatter: bool = False) -> None:
        """Args: ``judges_chatter``: the second one hears everything and says what is talk about the job."""
        self._first = first
        self._second = second
        self._judges_chatter = judges_chatter
        self.name = first.name
        self.model = f"{first.model}; numbers also by {second.name}, {second.model}"
        self.reason = f"{first.reason}; {second.name} ({second.model}) is asked about numbers"
        self.identity = hash_of("second opinion", first.identity, second.identity)

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what the first engine heard; where numbers differ, the second's text is an alternative."""
        heard = self._first.hear(segment)
        other = self._ask_second(segment, heard)
        if heard is None or other is None:
            return heard
        if self._judges_chatter:
            heard = replace(heard, job_score=other.job_score)
        if same_numbers(heard.text, other.text) or other.text in heard.alternatives:
            return heard
        return replace(heard, alternatives=(other.text, *heard.alternatives))

    def _ask_second(self, segment: Segment, heard: Utterance | None) -> Utterance | None:
        if heard is None:
            return None
        doubtful = [heard.text, *heard.alternatives]
        if not self._judges_chatter and not any(map(carries_number, doubtful)):
            return None
        try:
            return self._second.hear(segment)
        except EngineFailed:
            # The first opinion stands; the second is a help, and its failure must not lose what was said.
            return None
