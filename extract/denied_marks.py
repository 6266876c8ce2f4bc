"""Marks that were said not to be on a part: no entries, but a picture may show otherwise."""

from __future__ import annotations

from dataclasses import dataclass

from extract.part_talk import PartTalk
from shared.photo import CONDITION_OF_DEFECT
from shared.record import Evidence

_MARKS = frozenset(CONDITION_OF_DEFECT.values())


@dataclass(frozen=True)
class Denial:
    """A condition that was said not to be there ("no chips on the carbon")."""

    part: str
    condition: str
    evidence: Evidence


def denials_of(talk: PartTalk, evidence: Evidence) -> list[Denial]:
    """Return the marks that an utterance denies of parts that it is sure to be about."""
    return [
        Denial(name, predicate.key, evidence)
        for predicate, part in talk.said
        if predicate.kind == "condition" and predicate.key in _MARKS
        if predicate.denied and predicate.mood == "stated" and not predicate.hedged
        if not part.unlisted and not part.doubt
        for name in part.parts
    ]
