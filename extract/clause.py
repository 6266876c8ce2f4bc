"""One clause of an utterance and how it is meant."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from extract.mentions import Mention

Mood = Literal["stated", "question", "conditional", "future", "elsewhere"]


@dataclass(frozen=True, slots=True)
class Clause:
    """One clause: tokens ``start`` to before ``end``."""

    start: int
    end: int
    mood: Mood = "stated"
    hedged: bool = False

    def holds(self, mention: Mention) -> bool:
        """Whether a mention starts in this clause."""
        return self.start <= mention.start < self.end


def clause_of(clauses: Sequence[Clause], i: int) -> Clause:
    """Return the clause that token ``i`` stands in."""
    for clause in clauses:
        if clause.start <= i < clause.end:
            return clause
    return clauses[-1]
