"""What "it", "they" or an omitted subject means: the part that something is said of.

In this order: a part left hanging in front ("housing seals, I've had to …"), the part that was last
spoken of in the same breath, the part whose item was just measured, the part of the utterances
before. Features ("vanes", "teeth") go to the part that has them; "outboard's fine" goes from the
inboard bearing to its twin.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.heard import Heard
from extract.measured_parts import (
    measured_elsewhere,
    measured_goes_back,
    measured_part,
    of_item,
    of_measurement,
)
from extract.part_features import of_others, owner_of_feature
from extract.part_names import NamedPart, goes_with, parts_in
from extract.part_places import behind_preposition
from extract.part_twins import place_of_twin
from extract.predicates import Predicate
from extract.sheet_phrases import item_parts
from extract.state_sense import COPULAS
from extract.word_sets import word_set
from shared.job_sheet import JobSheet

PRONOUNS = word_set("reference.pronouns")
_OPENERS = word_set("reference.openers")
_PERSONS = word_set("reference.persons")
#: Features of whatever part is talked about; they are no subject of their own.
_FEATURES = word_set("reference.features")
_COMMON = word_set("reference.common")
#: "Renewed the pair of them".
_WHOLE = word_set("reference.whole")
_ADVERBS = frozenset({"always", "besides", "across", "sometimes", "afterwards", "sides", "pieces", "perhaps"})
_AFTER_NEW = word_set("reference.after_new")
_ONES = frozenset({"one", "ones", "both", "all", "lot", "pair"})
_OTHERS = frozenset({"rest", "others", "remainder"})
_LONGEST_SUBJECT = 4
_REST = frozenset({"rest", "others", "remainder"})
_MODALS = word_set("reference.modals")


def referred_part(
    sheet: JobSheet,
    heard: Heard,
    predicate: Predicate,
    predicates: Sequence[Predicate],
    parts: Sequence[NamedPart],
    subject: NamedPart | None,
    before: NamedPart | None,
    measured_last: bool = False,
) -> NamedPart | None:
    """Return the part that a finding or action without one of its own is about; None where none is.

    Args:
        predicates: all of the utterance.
        parts: all parts that it names.
        subject: what was last said something of in it.
        before: what the talk was about before it.
        measured_last: the utterance before gave readings and said nothing of a part.
    """
    talked_of = [part for part in (subject, before, *parts) if part is not None]
    if _new_thing(heard, predicate, talked_of):
        return None
    if (measured := measured_goes_back(sheet, heard, predicate)) is not None:
        return measured
    if of_item(heard, predicate) or _of_something_else(heard, predicate, predicates):
        return None
    if predicate.kind == "condition" and before is not None and _of_position(sheet, heard, predicate, before):
        before = None
    found = _found(sheet, heard, predicate, predicates, parts, subject, before, measured_last)
    found = _agreeing(heard, predicate, found, parts)
    owner = owner_of_feature(sheet, heard, predicate, found)
    if owner is not None:
        return owner
    if found is None or of_others(sheet, heard, predicate, found):
        return None
    found = _twin(sheet, heard, predicate, found)
    clause = predicate.clause
    return with_pair(sheet, heard.norms(clause.start, predicate.start), found)


def with_pair(sheet: JobSheet, lead: Sequence[str], part: NamedPart) -> NamedPart:
    """Return a part with its twin where "both" is said of it ("both packed with grease")."""
    if "both" not in lead or len(part.parts) != 1 or part.unlisted:
        return part
    bare = _without_position(sheet, part.parts[0])
    twins = [
        name
        for name in sheet.part_names
        if name != part.parts[0] and bare and _without_position(sheet, name) == bare
    ]
    return NamedPart((part.parts[0], twins[0]), part.start, part.end) if len(twins) == 1 else part


def _without_position(sheet: JobSheet, name: str) -> str | None:
    """Return what is left of a part's name without the position in it; None where it has none."""
    key = next((key for key in sheet.positions if goes_with(name, key)), None)
    return name.replace(key, "", 1).strip("_") if key is not None else None


def _of_position(sheet: JobSheet, heard: Heard, predicate: Predicate, before: NamedPart) -> bool:
    """Whether a position is the subject that the part talked about before cannot have ("lower's grooved")."""
    keys = [
        key
        for m in heard.mentions.of("position")
        if predicate.clause.start <= m.start and m.end <= predicate.start
        for key in m.keys
    ]
    if not keys:
        return False
    if before.unlisted:
        return True
    own = [item for item, part in item_parts(sheet).items() if part in before.parts]
    apart = any(goes_with(name, key) for name in sheet.part_names for key in keys)
    return not apart and bool(own) and not any(k in sheet.measured[i].positions for i in own for k in keys)


def _found(
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
    named = parts_in(parts, 0, clause.start)
    earlier = [part for part in named if not behind_preposition(heard, part)] or ([] if subject else named)
    if earlier and not any(earlier[-1].end <= p.start < clause.start for p in predicates):
        return earlier[-1]
    if subject is not None:
        return subject
    if earlier:
        return earlier[-1]
    if _names_other_object(heard, predicate):
        return None
    measured = measured_part(sheet, heard, predicate)
    if measured is not None:
        return measured
    if before is None or of_measurement(heard, predicate, measured_last):
        return None
    goes_on = _goes_on(heard, predicate) or place_of_twin(sheet, heard, predicate, before)
    return before if goes_on else None


def _agreeing(
    heard: Heard, predicate: Predicate, found: NamedPart | None, parts: Sequence[NamedPart]
) -> NamedPart | None:
    """Return the part that "it" or "they" agrees with in number ("rotor's out, vanes dressed, it's back").

    Another part is taken only where this breath names one that agrees and the one found does not.
    """
    if found is None or found.end == 0 or found not in parts or len(found.parts) > 1:
        return found
    said = heard.norms(predicate.clause.start, predicate.start)
    many = next((word == "they" for word in said if word in ("it", "they")), None)
    if many is None or _plural(heard, found) == many:
        return found
    earlier = [part for part in parts_in(parts, 0, predicate.clause.start) if not part.unlisted]
    fitting = [
        part for part in earlier if _plural(heard, part) == many and not behind_preposition(heard, part)
    ]
    return fitting[-1] if fitting else found


def _plural(heard: Heard, part: NamedPart) -> bool:
    """Whether a part was said in the plural; several parts are."""
    last = heard.tokens[part.end - 1].norm
    return len(part.parts) > 1 or (last.endswith("s") and not last.endswith(("ss", "'s")))


def _goes_on(heard: Heard, predicate: Predicate) -> bool:
    """Whether the words go on with what was talked about before."""
    clause = predicate.clause
    inside = heard.norms(clause.start, clause.end)
    rest = bool(_REST & set(inside)) and "of" not in inside
    if rest or any(word in PRONOUNS for word in inside):
        return not measured_elsewhere(heard, predicate)
    told = [
        m.end for m in heard.mentions.of("condition") if clause.start <= m.start and m.end < predicate.start
    ]
    start = max([clause.start, *told, *_positions_as_subject(heard, predicate)])
    # "Non drive end" is one thing, however many words it has.
    placed = {i for m in heard.mentions.of("position") for i in range(m.start + 1, m.end)}
    words = [heard.tokens[i].norm for i in range(start, predicate.start) if i not in placed]
    own = [word for word in words if word not in _OPENERS and word not in (",", ".")]
    if _ends_a_pair(heard, predicate):
        return False
    if predicate.kind == "condition":
        return (len(own) <= 3 and not _PERSONS & set(own)) or _existential(own)
    verb = predicate.form.split()[0]
    active = (verb.endswith("ing") and verb not in ("going", "staying")) or predicate.form in (
        "new",
        "go on",
        "on now",
        "in now",
    )
    return not own and not active


def _ends_a_pair(heard: Heard, predicate: Predicate) -> bool:
    """Whether it only ends a pair that begins with something else ("pie and chips")."""
    clause = predicate.clause
    alone = heard.norms(clause.start, predicate.start) == ["and"]
    if predicate.kind != "condition" or not clause.start or not alone:
        return False
    before = heard.clause_at(clause.start - 1)
    named = heard.mentions.of("part", "other_part", "condition", "action", "item", "position")
    if any(before.holds(m) for m in named):
        return False
    # "It's bad and cracked" goes on with "it", "it's pie and chips" does not.
    return predicate.form.endswith("s") or not PRONOUNS & set(heard.norms(before.start, before.end))


def _positions_as_subject(heard: Heard, predicate: Predicate) -> list[int]:
    """Return where a position begins that is right before the verb ("non drive end's fine")."""
    at = predicate.start
    if heard.norms(at - 1, at)[:1] and heard.tokens[at - 1].norm not in COPULAS:
        return []
    return [m.start for m in heard.mentions.of("position") if m.end == at - 1]


def _existential(own: list[str]) -> bool:
    return bool(own) and own[0] in (
        "'s",
        "is",
        "are",
        "slight",
        "light",
        "heavy",
        "little",
        "got",
        "i",
        "we",
        "nothing",
    )


def _subject_words(heard: Heard, predicate: Predicate, predicates: Sequence[Predicate]) -> list[str] | None:
    """Return the words before the verb, positions left out, from the clause's start or from what was
    said before in it; None where there is no verb."""
    clause = predicate.clause
    ends = [p.split[1] if p.split else p.end for p in predicates if p.start < predicate.start]
    start = max([clause.start, *(end for end in ends if end <= predicate.start)])
    at = predicate.start
    if heard.tokens[at].norm in COPULAS:
        # "The strut is a new one": the verb is the phrase's own.
        at += 1
    while at > start and heard.tokens[at - 1].norm not in COPULAS:
        at -= 1
    if at <= start:
        if predicate.kind == "condition" or not predicate.form.startswith(
            ("came", "come", "coming", "went", "goes", "go")
        ):
            return None
        at = predicate.start + 1
    places = {i for m in heard.mentions.of("position") for i in range(m.start, m.end)}
    # "Drive end's rough, non drive end's fine": the position right before the verb is the subject.
    start = max([start, *_positions_as_subject(heard, predicate)])
    return [
        heard.tokens[i].norm
        for i in range(start, at - 1)
        if i not in places and heard.tokens[i].norm not in _MODALS
    ]


def _of_something_else(heard: Heard, predicate: Predicate, predicates: Sequence[Predicate]) -> bool:
    """Whether the words before a verb name neither a part nor a feature of one ("test run's good")."""
    if heard.norms(predicate.start - 2, predicate.start) == ["i", "is"]:
        # "Lifting I is bent": an eye.
        return True
    words = _subject_words(heard, predicate, predicates)
    known = (_FEATURES, PRONOUNS, _OPENERS, _COMMON)
    return words is not None and any(
        word.isalpha() and not any(word in group for group in known) and not _done_as_well(word)
        for word in words
    )


def said_of_another(
    heard: Heard, predicate: Predicate, predicates: Sequence[Predicate], part: NamedPart
) -> bool:
    """Whether what follows a finding has its own subject ("rings are worn, the weather is fine")."""
    told = any(part.end <= other.start and other.end <= predicate.start for other in predicates)
    words = _subject_words(heard, predicate, predicates) if told else None
    if (
        not words
        or len(words) > _LONGEST_SUBJECT
        or {"i", "we"} & set(words)
        or words[-1] in PRONOUNS | _ONES
    ):
        # "Scored about halfway round, that one went in the scrap".
        return False
    if not _OTHERS.isdisjoint(words):
        # "The others are the originals" are of the same; "the rest is fine" is all else.
        return "are" not in heard.norms(predicate.start - 3, predicate.start + 1)
    return "else" in words or _of_something_else(heard, predicate, predicates)


def _done_as_well(word: str) -> bool:
    """Whether it is one more thing done to the same ("cleaned out and refilled, going back on")."""
    return word.endswith("ed") and len(word) > 4


def _twin(sheet: JobSheet, heard: Heard, predicate: Predicate, found: NamedPart) -> NamedPart:
    """Go over to the part of the position that is the subject ("inboard's noisy, outboard's fine")."""
    if found.unlisted:
        return found
    before = [
        m
        for m in heard.mentions.of("position")
        if predicate.clause.start <= m.start and m.end <= predicate.start and predicate.start - m.end <= 2
    ]
    name = found.parts[0]
    for mention in before:
        for key in mention.keys:
            own = [part for part in found.parts if goes_with(part, key)]
            if len(found.parts) > 1 and len(own) == 1:
                return NamedPart((own[0],), 0, 0)
            noun = name.split("_")[-1]
            twins = [
                part for part in sheet.part_names if goes_with(part, key) and part.split("_")[-1] == noun
            ]
            if len(twins) == 1 and not goes_with(name, key):
                return NamedPart((twins[0],), 0, 0)
    return found


def _new_thing(heard: Heard, predicate: Predicate, talked_of: Sequence[NamedPart]) -> bool:
    """Whether "a new" thing that no list knows is the object ("put a new strain relief on it")."""
    if predicate.form != "new" or heard.norms(predicate.start - 1, predicate.start) != ["a"]:
        return False
    noun = (heard.norms(predicate.end, predicate.end + 1) or [""])[0]
    names = {word for part in talked_of for name in part.parts for word in name.split("_")}
    return noun.isalpha() and not any(noun in group for group in (PRONOUNS, _AFTER_NEW, _FEATURES, names))


def _names_other_object(heard: Heard, predicate: Predicate) -> bool:
    """Whether the action has an object that is no part ("save the job", "changed my mind")."""
    if predicate.kind != "action":
        return False
    end = predicate.split[1] if predicate.split else predicate.end
    following = heard.norms(end, end + 2)
    if predicate.key in ("renewed", "scrapped") and predicate.form.endswith("ed") and following:
        noun = following[0]
        plural = noun.endswith("s") and len(noun) > 4 and noun.isalpha() and not noun.endswith("ss")
        if plural and noun not in PRONOUNS and noun not in _ADVERBS:
            # "Swapped shifts with Dave".
            return True
    return (
        len(following) > 1
        and following[0] in ("the", "a", "my", "your", "his", "her", "our", "some", "any", "this", "that")
        and following[1] not in PRONOUNS
        and following[1] not in _WHOLE
    )
