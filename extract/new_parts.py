"""Which part "new" is said of: the one before it, or the one behind."""

from __future__ import annotations

from collections.abc import Sequence

from extract.heard import Heard
from extract.part_names import NamedPart, measured_behind
from extract.predicate_sense import NEW_WORDS
from extract.predicates import Predicate
from extract.state_sense import COPULAS
from extract.word_sets import word_set

_DEGREES = word_set("part_talk.degrees")
_FITTING = word_set("predicates.fitting")


def postposed(heard: Heard, predicate: Predicate, part: NamedPart, right: Sequence[NamedPart]) -> bool:
    """Whether "new" stands behind its parts throughout ("bushing new wear band new")."""
    if predicate.form not in NEW_WORDS or part.end != predicate.start:
        return False
    if right and _leads(heard, part.start - 1):
        # "New motor seal new drum seals new gasket".
        return False
    series = bool(right) and right[0].start == predicate.end and _begins(heard, predicate, part)
    if series and any(m.start == right[0].end for m in heard.mentions.of("action", "condition")):
        # "Seal new sleeve new key reused".
        return True
    if series and heard.norms(right[0].end, right[0].end + 1) in (["old"], ["original"], ["same"]):
        # "Bushes new impellers old".
        return True
    if right and part.start <= predicate.clause.start + 1 and measured_behind(heard, right[0].end):
        # "Gasket new casing bolts ninety": what is torqued begins something new.
        return True
    following = [p for p in right if p.start >= predicate.end]
    return not following or heard.norms(following[-1].end, following[-1].end + 1) == ["new"]


def _leads(heard: Heard, at: int) -> bool:
    """Whether a "new" stands there that is not said of a part before it."""
    if at < 0 or heard.tokens[at].norm not in NEW_WORDS:
        return False
    return not any(m.end == at for m in heard.mentions.of("part", "other_part"))


def _begins(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether a part opens the clause or comes right behind what was said of another."""
    if part.start <= predicate.clause.start + 1:
        return True
    return any(m.end == part.start for m in heard.mentions.of("action", "condition"))


def said_to_be_new(heard: Heard, predicate: Predicate, part: NamedPart, right: Sequence[NamedPart]) -> bool:
    """Whether "new" is said of the part before ("gasket's new packing's new"), not of the one behind."""
    between = heard.norms(part.end, predicate.start)
    if predicate.form not in NEW_WORDS or not between or between[0] not in COPULAS:
        return False
    if not all(word in COPULAS or word in _DEGREES for word in between):
        return False
    if between == ["'s"] and right and right[0].start == predicate.end:
        # "Impeller's new key went in" has a verb of its own, "strainer's new bell's going back" has one too,
        # but that says of the bell what it would not be if it were new.
        verb = heard.norms(right[0].end, right[0].end + 2)
        if verb[:1] in (["stays"], ["stay"]) and verb[1:] in (["in"], ["on"], ["put"], ["there"]):
            # "Front bearing's new rear bearing stays in", two of one kind.
            return heard.norms(part.end - 1, part.end) == heard.norms(right[0].end - 1, right[0].end)
        if verb and verb[0] in COPULAS:
            return verb[1:] not in (["in"], ["on"], ["fitted"], ["installed"])
        return not _FITTING & set(verb)
    return True


def attributive(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether "new" stands right before its part ("goes back on with a new bolt")."""
    between = heard.norms(predicate.end, part.start)
    verbs = {"'s", "is", "are", "in", "on", "and", "so", "but", ",", "."}
    return len(between) <= 2 and not verbs & set(between) and predicate.mood == "stated"


def other_object(predicate: Predicate, between: list[str]) -> bool:
    """Whether the part behind only follows a preposition ("cleaned it in the …", "is out on the …")."""
    if predicate.form in NEW_WORDS:
        return any(word in ("on", "in", "off", "out") for word in between)
    return (
        bool(between)
        and between[0] in ("it", "them", "that", "this")
        and len(between) > 1
        and between[1] in ("in", "on")
    )
