"""Findings whose subject is a pronoun: "it's pitted bearing's alright", "they got muck on the lobes"."""

from __future__ import annotations

from itertools import pairwise

from extract.heard import Heard
from extract.part_names import NamedPart
from extract.predicates import Predicate
from extract.reference import PRONOUNS
from extract.state_sense import COPULAS
from extract.word_sets import word_set

_FEATURES = word_set("reference.features")
_HAVING = word_set("part_talk.having")


def said_of_pronoun(heard: Heard, predicate: Predicate, pronouns: frozenset[str] = PRONOUNS) -> bool:
    """Whether a pronoun and its verb stand before ("it's pitted bearing's alright")."""
    before = heard.norms(max(predicate.clause.start, predicate.start - 4), predicate.start)
    return any(a in pronouns and b in COPULAS for a, b in pairwise(before))


def of_pronouns_feature(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether a pronoun has it and the part behind is only where ("they got deposits on the lobes")."""
    said = heard.norms(predicate.clause.start, predicate.start)
    feature = part.unlisted and heard.tokens[part.end - 1].norm in _FEATURES
    return feature and any(a in PRONOUNS and b in _HAVING for a, b in pairwise(said))
