"""Whether a part that is named only says where something is ("grease line to the top bearing").

"In", "on", "out" and "off" may also end what is said of the part before, and the part behind them
begins something new: "new pinion in, bull gear and shaft are going back", said in one breath.
"""

from __future__ import annotations

from extract.heard import Heard
from extract.part_names import FEATURES, NamedPart, unlisted_subject
from extract.predicate_sense import NEW_WORDS
from extract.predicates import Predicate
from extract.state_sense import COPULAS
from extract.unlisted_names import FEATURES as OF_PARTS
from extract.unlisted_names import HOUSEHOLD
from extract.word_sets import word_set

_PREPOSITIONS = word_set("reference.prepositions")
_PARTICLES = frozenset({"in", "on", "out", "off"})
_ARTICLES = frozenset({"the", "a", "its", "an"})
_VERBS = COPULAS | word_set("part_places.verbs")
_PARTITIVES = word_set("part_places.partitives")
_OWNING = frozenset({"on", "of", "in", "at", "inside", "around", "round", "across", "along", "through"})
_LEADS = _ARTICLES | {"and", "so", "but", "that", "this", "my", "old", "one", "little", "small", "big"}
_NO_NOUNS = word_set("part_places.no_nouns")
_VEHICLES = word_set("part_places.vehicles")
_NEW_REACH = 4
_GOING = frozenset({"goes", "go", "going", "went", "gone", "put", "fitted"})


def behind_preposition(heard: Heard, part: NamedPart) -> bool:
    """Whether a part only says where another is ("new o ring on the back plate with …")."""
    at = part.start - 1
    while at >= 0 and part.start - at <= 2 and heard.tokens[at].norm in _ARTICLES:
        at -= 1
    if at < 0 or heard.tokens[at].norm not in _PREPOSITIONS | {"out"}:
        return False
    if heard.tokens[at].norm == "of" and heard.norms(at - 1, at) and heard.tokens[at - 1].norm in _PARTITIVES:
        # "A couple of the piston rings are broken".
        return False
    if _subject(heard, part) and (ends_before(heard, at) or _told_already(heard, at)):
        return False
    return heard.tokens[at].norm in _PREPOSITIONS


def of_a_vehicle(heard: Heard, predicate: Predicate, part: NamedPart) -> bool:
    """Whether a part off the sheet is somebody's vehicle's ("the brakes are worn on the forklift")."""
    said = heard.norms(predicate.clause.start, predicate.clause.end)
    return part.unlisted and not _VEHICLES.isdisjoint(said)


def ends_before(heard: Heard, at: int) -> bool:
    """Whether "in", "out" at a token says what was done with the part before it ("new pinion in")."""
    if heard.tokens[at].norm not in _PARTICLES:
        return False
    before = heard.norms(at - 1, at)
    named = [m for m in heard.mentions.of("part", "other_part") if m.end <= at]
    if not named:
        return False
    if before == ["back"] and at >= 2:
        # "Sleeve's back on casing gasket's new", "sleeve back on gasket's new".
        told = _is_verb(heard, at - 2) or heard.tokens[at - 2].norm in _GOING
        if told or named[-1].end == at - 1:
            return True
    if before and before[0] in COPULAS:
        # "Gland's off the rod's scratched".
        return named[-1].end == at - 1
    # "The new seal in the housing" is a place, "new seal in housing's cracked" is none.
    lead = heard.norms(named[-1].start - _NEW_REACH, named[-1].start)
    bare = heard.tokens[at + 1].norm not in _ARTICLES if at + 1 < len(heard.tokens) else True
    return named[-1].end == at and bool((NEW_WORDS | {"old"}) & set(lead)) and bare


def _told_already(heard: Heard, at: int) -> bool:
    """Whether a finding with its verb stands before a preposition, so that the next verb has another subject.

    "The drive end seal is worn in the non drive end seal has deposits": an "and" was heard as an "in".
    """
    clause = heard.clause_at(at)
    for finding in heard.mentions.of("condition", "action"):
        if not clause.start < finding.start < finding.end <= at:
            continue
        verbs = [i for i in range(max(clause.start, finding.start - 2), finding.start) if _is_verb(heard, i)]
        if verbs and heard.norms(verbs[0] - 1, verbs[0]) not in (["that"], ["which"], ["who"]):
            return True
    return False


def _is_verb(heard: Heard, i: int) -> bool:
    return heard.tokens[i].norm in COPULAS | {"has", "have", "had"}


def _subject(heard: Heard, part: NamedPart) -> bool:
    """Whether a verb of its own follows a part."""
    following = (heard.norms(part.end, part.end + 1) or [""])[0]
    return following in _VERBS or any(
        m.start == part.end and m.form.split()[0] in _VERBS for m in heard.mentions.of("action", "condition")
    )


def head_before(heard: Heard, start: int, place: NamedPart) -> NamedPart | None:
    """Return the part off the sheet that a place belongs to ("grease line to the top bearing").

    "The rubber on the seal", "face of the flange" are features of the part that they name.

    Args:
        start: first token that the name may have.
        place: the part that only says where.
    """
    at = place.start - 1
    while at > start and heard.tokens[at].norm in _ARTICLES:
        at -= 1
    preposition = heard.tokens[at].norm if at > start else ""
    if preposition not in _PREPOSITIONS:
        return None
    if preposition == "to" and heard.tokens[at - 1].norm == "next":
        at -= 1
    elif preposition in _OWNING and heard.tokens[at - 1].norm in FEATURES | OF_PARTS:
        return None
    if any(start <= m.start < at for m in heard.mentions.of("condition", "action", "part", "other_part")):
        return None
    return unlisted_subject(heard, start, at) or (
        None if preposition in _OWNING else _any_noun(heard, start, at)
    )


def _any_noun(heard: Heard, start: int, end: int) -> NamedPart | None:
    """Return what stands before a mere place as a part off the sheet, though no list has its noun."""
    words = heard.norms(start, end)
    while words and words[0] in _LEADS:
        start, words = start + 1, words[1:]
    plain = all(word.isalpha() and len(word) > 2 and word not in _NO_NOUNS for word in words)
    if not 1 <= len(words) <= 3 or not plain or words[-1] in FEATURES | OF_PARTS or HOUSEHOLD & set(words):
        return None
    return NamedPart(("_".join(words),), start, end, True, called=" ".join(words))
