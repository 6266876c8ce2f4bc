"""Two engines on every utterance that carries a number: where they differ, it becomes a question.

A wrong number that looks right is the worst this program can do, and no engine knows when it misheard.
Two that hear in different ways seldom mishear alike. What the other one heard goes along as an
alternative hearing, an empty one where it heard nothing; whoever reads the utterance compares the values.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from capture.engines.engine import Engine, SegmentEngine, hash_of
from capture.engines.numbers_heard import carries_number
from capture.segments import Segment
from shared.errors import EngineFailed
from shared.speech import Utterance


class SecondOpinion(SegmentEngine):
    """Hears with one engine and asks another about numbers.

    Args:
        first: whose hearing counts wherever nobody differs.
        second: is asked where anybody heard a number.
        judge: hears everything, says what is talk about the job, and notices numbers that the first one
            missed; may be the second one itself.
    """

    def __init__(self, first: Engine, second: Engine, *, judge: Engine | None = None) -> None:
        self._first = first
        self._second = second
        self._judge = judge
        self.name = first.name
        self.model = f"{first.model}; numbers also by {second.name}, {second.model}"
        self.reason = f"{first.reason}; {second.name} ({second.model}) is asked about numbers"
        if judge is not None and judge is not second:
            self.model += f"; chatter told by {judge.name}, {judge.model}"
        self._all = [engine for engine in (first, second, judge) if engine is not None]
        identities = [engine.identity for engine in self._all]
        self.identity = hash_of("second opinion 2", *identities)

    def hear(self, segment: Segment) -> Utterance | None:
        """Return what the first engine heard, with the second's hearing where there is a number."""
        heard = self._first.hear(segment)
        judged = self._ask(self._judge, segment)
        if heard is not None and judged is not None:
            heard = replace(heard, job_score=judged.job_score)
        if not _has_number(heard) and not _has_number(judged):
            return heard
        other = judged if self._second is self._judge else self._ask(self._second, segment)
        if heard is None:
            return _heard_by_one(other) or _heard_by_one(judged)
        if other is None:
            return replace(heard, alternatives=("", *heard.alternatives))
        if other.text == heard.text or other.text in heard.alternatives:
            return heard
        return replace(heard, alternatives=(other.text, *heard.alternatives))

    @property
    def memory(self) -> tuple[float, ...]:
        """What the one of them that learns has learnt."""
        return next((engine.memory for engine in self._all if engine.memory), ())

    def recall(self, memory: Sequence[float]) -> None:
        """Let whoever learns know it again."""
        for engine in self._all:
            engine.recall(memory)

    @staticmethod
    def _ask(engine: Engine | None, segment: Segment) -> Utterance | None:
        try:
            return engine.hear(segment) if engine is not None else None
        except EngineFailed:
            # The first opinion stands, unconfirmed; that a helper fails must not lose what was said.
            return None


def _has_number(heard: Utterance | None) -> bool:
    return heard is not None and any(map(carries_number, (heard.text, *heard.alternatives)))


def _heard_by_one(heard: Utterance | None) -> Utterance | None:
    """Return a hearing with a number that the first engine took for nothing said: nobody confirms it."""
    if heard is None or not carries_number(heard.text):
        return None
    return replace(heard, alternatives=("", *heard.alternatives))
