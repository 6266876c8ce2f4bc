"""Which part a finding or an action is about.

The words decide in this order: the part right behind an adjective ("cracked gland"), the subject of
the clause, the part behind a preposition ("pitting on the impeller"), a part left hanging in front
("housing seals, I've had to …"), and for a pronoun what the talk was about.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from extract.heard import Heard
from extract.likewise import likewise, without_same
from extract.measured_parts import measured_before
from extract.new_parts import attributive, other_object, postposed, said_to_be_new
from extract.numbered_parts import listed_piece, numbered_parts
from extract.own_verbs import told_apart
from extract.owned_parts import without_features, without_owned
from extract.part_links import INTO, having, linked_to, made_by, only_makes, passive, without_links
from extract.part_names import (
    NamedPart,
    measured_behind,
    named_parts,
    parts_in,
    unlisted_place,
    unlisted_subject,
)
from extract.part_places import behind_preposition, head_before, of_a_vehicle
from extract.part_twins import other_twin, twins_between, twins_named
from extract.predicate_sense import NEW_WORDS
from extract.predicates import Predicate, predicates_of
from extract.pronoun_subjects import of_pronouns_feature, said_of_pronoun
from extract.reference import referred_part
from extract.sheet_phrases import WEAK
from extract.state_sense import COPULAS
from extract.taken_back import Quoted, moved, quoted
from extract.talk_context import TalkContext
from extract.verb_objects import may_stand_between, without_feature
from extract.whose import whose
from extract.word_sets import word_set
from shared.job_sheet import JobSheet

_BETWEEN_ADJECTIVE = word_set("part_talk.between_adjective")
_PREPOSITIONS = word_set("part_talk.prepositions")
_PLACE_WORDS = _PREPOSITIONS | {"by", "beside", "above", "below", "next"}
_WHERE = frozenset(
    {
        "under",
        "behind",
        "below",
        "beneath",
        "near",
        "by",
        "beside",
        "next",
        "round",
        "around",
        "where",
        "in",
        "at",
    }
)
_CAUSES = word_set("conditions.causes")
_FEATURES = word_set("reference.features")
_OF_BEARINGS = frozenset({"cage", "race", "races", "roller", "rollers"})
_PARTICLES = ("in", "on", "out", "off")
_VERBS_OF_SUBJECT = COPULAS | {"has", "have", "had", "got", "looks", "look", "shows", "'ve"}
_OF_ONE = frozenset({"it", "they", "that", "this"})
_SAME = ("same", "original", "existing")
_LISTING = frozenset({"the", "a", "my", "and", ",", "both", "all", "new", "old"})
_FITTING = word_set("predicates.fitting")
_ADJECTIVE_ENDINGS = ("ed", "en", "nt", "rn", "ty", "ay")


@dataclass
class PartTalk:
    """What is said of parts in an utterance, each with the part it is about."""

    said: list[tuple[Predicate, NamedPart]] = field(default_factory=list)
    parts: list[NamedPart] = field(default_factory=list)
    quoted: list[Quoted] = field(default_factory=list)
    """What was said before and is put right now."""
    orphans: list[Predicate] = field(default_factory=list)
    """What is said of nobody knows what."""
    focus: NamedPart | None = None
    """What the talk is about at the end."""


def read_part_talk(sheet: JobSheet, heard: Heard, context: TalkContext) -> PartTalk:
    """Return what an utterance says of parts; denied and unreal things included, marked as such."""
    focus = context.focus()
    parts = without_owned(heard, named_parts(sheet, heard, focus[0][-1] if focus else None))
    parts = without_features(parts, focus[0] if focus else ())
    parts = [*parts, *numbered_parts(sheet, heard, parts)]
    parts = sorted([*parts, *twins_named(sheet, heard, parts, focus)], key=lambda part: part.start)
    talk = PartTalk(parts=parts)
    before: NamedPart | None = NamedPart(focus[0], 0, 0, focus[1]) if focus else None
    subject: NamedPart | None = None
    predicates = [p for p in predicates_of(heard) if not only_makes(heard, p)]
    for predicate in predicates:
        told = measured_before(sheet, heard, predicate, context) or before
        part = _part_of(sheet, heard, predicate, predicates, parts, subject, told, context.measured_last)
        of_ours = part is not None and not of_a_vehicle(heard, predicate, part)
        part = other_twin(sheet, heard, predicate, predicates, part) if part and of_ours else None
        if part is None:
            talk.orphans.append(predicate)
            continue
        if part.end == 0 and _of_the_unknown(heard, predicate, talk.orphans):
            # "Drive and plate is off, and it is scored": of what nobody understood, not of what was before.
            part = replace(part, doubt=part.doubt or part.parts)
        talk.said.append((predicate, part))
        # A doubt whose this is goes no further.
        subject = replace(part, doubt=()) if part.doubt == part.parts else part
    talk.said = without_same(heard, talk.said, context)
    talk.said += moved(heard, talk.said, parts)
    quotes = quoted(heard, talk.said)
    talk.quoted = [quote for _, quote in quotes]
    talk.said = [pair for pair in talk.said if not any(pair is only for only, _ in quotes)]
    talk.said += likewise(heard, talk.said, parts, context)
    talk.focus = subject or (parts[-1] if parts else None)
    return talk


def _of_the_unknown(heard: Heard, predicate: Predicate, orphans: Sequence[Predicate]) -> bool:
    """Whether "it" follows a clause that says what something is of which nobody understood the name."""
    if not orphans or orphans[-1].clause.end > predicate.clause.start:
        return False
    lost = orphans[-1]
    is_so = "is" in heard.norms(lost.start - 1, lost.start + 1) or heard.tokens[lost.start].norm in COPULAS
    return is_so and said_of_pronoun(heard, predicate, _OF_ONE)


def _part_of(
    sheet: JobSheet,
    heard: Heard,
    predicate: Predicate,
    predicates: Sequence[Predicate],
    parts: Sequence[NamedPart],
    subject: NamedPart | None,
    before: NamedPart | None,
    measured_last: bool,
) -> NamedPart | None:
    clause = predicate.clause
    if _excepted(heard, clause.start):
        return None
    inside = [part for part in parts if part.start <= predicate.start and predicate.end <= part.end]
    if inside:
        return inside[0]
    end = max(clause.end, predicate.split[1] if predicate.split else 0)
    before_it = parts_in(parts, clause.start, predicate.start)
    left = [part for part in before_it if not _in_place(heard, part, predicate)]
    right = parts_in(parts, predicate.end, end)
    fronted = _fronted(heard, predicate, parts, right)
    if fronted is not None:
        return fronted
    if predicate.split:
        inside = parts_in(parts, predicate.end, predicate.split[0])
        if inside:
            return inside[-1]
    if predicate.kind == "condition":
        chosen = _of_condition(heard, predicate, left, right)
    else:
        chosen = _of_action(heard, predicate, left, right)
        if chosen is not None and chosen in right:
            chosen = _listed(heard, predicate, predicates, chosen, right)
    if chosen is not None and chosen in left and behind_preposition(heard, chosen):
        chosen = head_before(heard, _name_may_start(predicates, predicate), chosen) or chosen
    if chosen is not None and chosen in left:
        chosen = whose(sheet, heard, predicate, predicates, twins_between(sheet, heard, chosen, predicate))
    if chosen is not None:
        return chosen
    own = _unlisted(heard, predicate, clause.start)
    if own is not None and not (own.parts[0] in _FEATURES or heard.tokens[own.end - 1].norm in _OF_BEARINGS):
        return listed_piece(sheet, own)
    if before_it and not left:
        # "Drain tray under the gearbox is bent".
        own = head_before(heard, _name_may_start(predicates, predicate), before_it[-1])
        if own is not None:
            return own
    if measured_last and not left and _of_place(heard, predicate):
        return None
    named = unlisted_place(heard, predicate.end) if predicate.kind == "condition" and not left else None
    if named is not None:
        return named
    return referred_part(sheet, heard, predicate, predicates, parts, subject, before, measured_last)


def _of_place(heard: Heard, predicate: Predicate) -> bool:
    """Whether it is said of a place measured before ("that output's got a groove"), whatever part that is."""
    at = predicate.clause.start + (
        heard.norms(predicate.clause.start, predicate.clause.start + 1) == ["that"]
    )
    ends = [m.end for m in heard.mentions.of("position") if m.start == at and m.cost < WEAK]
    return any(heard.norms(end, end + 1)[:1] and heard.tokens[end].norm in _VERBS_OF_SUBJECT for end in ends)


def _name_may_start(predicates: Sequence[Predicate], predicate: Predicate) -> int:
    """Return where in its clause something new may begin: behind what was said before."""
    ends = [p.split[1] if p.split else p.end for p in predicates if p.start < predicate.start]
    return max([predicate.clause.start, *ends])


def _fronted(
    heard: Heard, predicate: Predicate, parts: Sequence[NamedPart], right: Sequence[NamedPart]
) -> NamedPart | None:
    """Return the part told first in "the packing I've renewed the lantern rings I've kept"."""
    clause = predicate.clause
    if predicate.kind != "action" or not right or heard.tokens[clause.start].norm not in ("i", "we"):
        return None
    hanging = [part for part in parts if part.end == clause.start]
    again = heard.norms(right[-1].end, right[-1].end + 1)
    return hanging[0] if hanging and again in (["i"], ["we"]) else None


def _excepted(heard: Heard, start: int) -> bool:
    """Whether the clause only names what is left out ("everything but the key is new")."""
    lead = heard.norms(start - 1, start + 1)
    return lead[-1:] in (["but"], ["except"]) and lead[:1] in (["everything"], ["all"], ["nothing"])


def _of_condition(
    heard: Heard, predicate: Predicate, left: list[NamedPart], right: list[NamedPart]
) -> NamedPart | None:
    linked = left and linked_to(heard, left[-1].end, predicate.start)
    if linked and made_by(heard, left[-1].end, predicate.start):
        linked = False
    if left and right and right[0].start == predicate.end and _taken(heard, left[-1]):
        # "Cracked gland cracked lantern ring".
        return right[0]
    if right and not linked:
        right = [part for part in right if not _in_place(heard, part, predicate)] or right
        between = _without_places(heard, predicate.end, right[0].start)
        if predicate.form.endswith(" of"):
            # "A bite out of the seat".
            between = ["of", *between]
        if (
            all(word in _BETWEEN_ADJECTIVE for word in between)
            and len(between) <= 2
            and predicate.form.endswith(_ADJECTIVE_ENDINGS)
            and not said_of_pronoun(heard, predicate)
        ):
            return right[0]
        if left and not INTO.isdisjoint(between[:5]) and made_by(heard, left[-1].end, predicate.start):
            # "The lip seal has cut a groove in the shaft".
            return right[0]
        if _CAUSES & set(between[-2:]):
            # "It has scratches from the lobe": what made them, not what has them.
            return _subject_of(heard, left)
        if not left and between[:1] and between[0] in _WHERE and _has_subject(heard, predicate, between[0]):
            return None  # "it's scored under the packing", "block heater is corroded in the plug": only where
        if not left and of_pronouns_feature(heard, predicate, right[0]):
            return None
        if (
            not left
            and between
            and len(between) <= 6
            and any(word in _PREPOSITIONS or word == "with" for word in between[:4])
        ):
            return right[0]
        if (
            left
            and between
            and between[0] in ("on", "in", "of")
            and not having(heard, left[-1].end, predicate.start)
        ):
            return right[0] if left[-1].end < predicate.start - 1 else left[-1]
    return _subject_of(heard, left)


def _has_subject(heard: Heard, predicate: Predicate, where: str) -> bool:
    """Whether a pronoun, or a part that no list has, is what a finding is said of."""
    pronoun = where not in ("in", "at") and said_of_pronoun(heard, predicate)
    return pronoun or _unlisted(heard, predicate, predicate.clause.start) is not None


def _listed(
    heard: Heard,
    predicate: Predicate,
    predicates: Sequence[Predicate],
    first: NamedPart,
    right: Sequence[NamedPart],
) -> NamedPart:
    """Add the parts of a list told without commas ("changed the gasket the lip seals and the o ring")."""
    group = [first]
    for part in right[right.index(first) + 1 :]:
        between = heard.norms(group[-1].end, part.start)
        # "Same shaft, new sleeve"; "new seals, both shafts" says where.
        apart = ("new" in between and predicate.form in _SAME) or between == [",", "both"]
        if apart or not all(word in _LISTING for word in between):
            break
        if measured_behind(heard, part.end):
            break
        group.append(part)
    last = group[-1]
    verb = heard.norms(last.end, last.end + 1)
    said = bool(verb) and (verb[0] in _VERBS_OF_SUBJECT or any(p.start == last.end for p in predicates))
    joined = bool({"and", ","} & set(heard.norms(first.end, last.end)))
    if said or told_apart(heard, last.start, last.end) or not joined or len(group) == 1:
        return first
    names = tuple(dict.fromkeys(name for part in group for name in part.parts))
    return NamedPart(names, first.start, last.end, first.unlisted)


def _taken(heard: Heard, part: NamedPart) -> bool:
    """Whether findings stand before their parts from the clause's start on ("cracked gland cracked ring")."""
    start = part.start
    while True:
        before = [m for m in heard.mentions.of("condition") if m.end == start]
        if not before:
            return False
        if before[0].start == heard.clause_at(start).start:
            return True
        ahead = [m for m in heard.mentions.of("part", "other_part") if m.end == before[0].start]
        if not ahead:
            return False
        start = ahead[0].start


def _without_places(heard: Heard, start: int, end: int) -> list[str]:
    """Return the words between a finding and a part, positions left out ("the drive end sleeve")."""
    places = {i for m in heard.mentions.of("position") for i in range(m.start, m.end)}
    return [heard.tokens[i].norm for i in range(start, end) if i not in places]


def _subject_of(heard: Heard, left: list[NamedPart]) -> NamedPart | None:
    """Return the last part before that is no mere place ("corrosion on the shaft by the impeller")."""
    own = [part for part in left if not behind_preposition(heard, part)]
    return (own or left)[-1] if left else None


def _of_action(
    heard: Heard, predicate: Predicate, left: list[NamedPart], right: list[NamedPart]
) -> NamedPart | None:
    if predicate.form in _SAME and right and right[0].start == predicate.end:
        return right[0]
    if left and predicate.form in _PARTICLES and not without_links(heard, left[-1].end, predicate.start):
        return left[-1]
    if left and postposed(heard, predicate, left[-1], right):
        return left[-1]
    if left and said_to_be_new(heard, predicate, left[-1], right):
        return _subject_of(heard, left)
    if predicate.form in NEW_WORDS and right and attributive(heard, predicate, right[0]):
        return right[0]
    suffered = bool(left) and passive(heard, left[-1].end, predicate.start) and not _object(heard, left[-1])
    if right and not suffered:
        between = heard.norms(predicate.end, right[0].start)
        if between[-1:] == [","] and between[-2:-1] in (["them"], ["both"], ["lot"], ["two"], ["pair"]):
            # "Chucking the pair of them, front ring and back ring".
            between = between[:-1]
        between = without_feature(between)
        near = len(between) <= 5 and all(may_stand_between(word) for word in between)
        if (
            near
            and (predicate.form not in NEW_WORDS or len(between) <= 3)
            and not other_object(predicate, between)
        ):
            return right[0]
    return _subject_of(heard, left)


def _object(heard: Heard, part: NamedPart) -> bool:
    """Whether a verb right before has the part already ("kept the shaft, chucked the deflector")."""
    at = part.start
    while at and heard.tokens[at - 1].norm in _LISTING:
        at -= 1
    subjects = {m.end for m in heard.mentions.of("part", "other_part")}
    # "Shaft reused chambers reused": each part stands before its verb.
    verbs = [m for m in heard.mentions.of("action") if m.end == at and m.start not in subjects]
    return any(m.form.endswith("ed") or m.form in ("kept", "took off", "threw out") for m in verbs)


def _in_place(heard: Heard, part: NamedPart, predicate: Predicate) -> bool:
    """Whether a part before only says where ("under the sleeve it's pitted")."""
    before = heard.norms(part.start - 2, part.start)
    return bool(before) and (
        before[-1] in ("under", "behind", "inside")
        or (before[0] in ("under", "behind", "inside") and before[-1] == "the")
    )


def _unlisted(heard: Heard, predicate: Predicate, start: int) -> NamedPart | None:
    """Return a subject that no list knows ("the suction elbow is cracked")."""
    at = predicate.start
    while at > start and heard.tokens[at - 1].norm not in _VERBS_OF_SUBJECT and predicate.start - at < 4:
        at -= 1
    if at <= start or heard.tokens[at - 1].norm not in _VERBS_OF_SUBJECT:
        return None
    end = at - 1
    while end > start and heard.tokens[end - 1].norm in _VERBS_OF_SUBJECT:
        end -= 1
    places = (i for i in range(start + 1, end) if heard.tokens[i].norm in _PLACE_WORDS)
    # "Handrail by the pump's bent": what stands before the place.
    return unlisted_subject(heard, start, next(places, end))
