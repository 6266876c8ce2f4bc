"""How the words between a part and what is said of it tie the two: "is", "has got", "has cut a … in"."""

from __future__ import annotations

from extract.heard import Heard
from extract.numbers import is_number_word
from extract.predicates import Predicate
from extract.state_sense import COPULAS
from extract.word_sets import word_set

_HAVING = word_set("part_talk.having")
_MADE = word_set("part_talk.made")
_A_THING = (["a"], ["an"], ["some"], ["its"], ["his"])
_OBJECTS = (["the"], ["both"], ["them"], ["it"], ["my"], ["these"], ["those"])
#: Lead from what was made to what has it ("a groove in the shaft").
INTO = frozenset({"in", "into", "on", "round", "across", "down", "along"})
_INTO_REACH = 5
_HEATED = frozenset({"cooked", "baked"})
_DEGREES = word_set("part_talk.degrees")


def without_links(heard: Heard, start: int, end: int) -> list[str]:
    """Return the words between two tokens that are no copulas and no degrees."""
    return [word for word in heard.norms(start, end) if word not in COPULAS and word not in _DEGREES]


def made_by(heard: Heard, start: int, end: int) -> bool:
    """Whether what stands before made the finding in something else ("has worn a groove in …")."""
    words = heard.norms(start, end + 1)
    several = words[-1].endswith("s")
    made = (
        n
        for n, word in enumerate(words[:-1])
        if word in _MADE and (words[n + 1 : n + 2] in _A_THING or (several and n == len(words) - 2))
    )
    verb = next(made, None)
    return verb is not None and not any(word in COPULAS for word in words[:verb] if word != "'s")


def only_makes(heard: Heard, predicate: Predicate) -> bool:
    """Whether a finding's word only tells what made another ("worn a groove in …"), or heated it."""
    behind = heard.norms(predicate.end, predicate.end + 1)
    if predicate.kind == "condition" and predicate.form in _HEATED:
        # "Cooked the bearings to two thirty" heats them.
        reach = range(predicate.end + 1, min(predicate.end + 6, len(heard.tokens) - 1))
        to = next((i for i in reach if heard.tokens[i].norm in ("to", ",")), None)
        heated = to is not None and heard.tokens[to].norm == "to" and is_number_word(heard.tokens[to + 1])
        named = any(m.start == predicate.end for m in heard.mentions.of("part", "position"))
        return heated and (named or behind[:1] in _OBJECTS)
    made = predicate.kind == "condition" and predicate.form in _MADE and behind in _A_THING
    found = [m for m in heard.mentions.of("condition") if predicate.end < m.start < predicate.end + 4]
    return made and bool(found) and not INTO.isdisjoint(heard.norms(found[0].end, found[0].end + _INTO_REACH))


def linked_to(heard: Heard, start: int, end: int) -> bool:
    """Whether nothing, or a verb that ties them, stands between a part and a finding."""
    words = heard.norms(start, end)
    return not words or any(
        word in COPULAS or word in _HAVING or word in ("look", "looks", "gone", "came", "went")
        for word in words
    )


def having(heard: Heard, start: int, end: int) -> bool:
    """Whether a part is said to have what stands behind."""
    return any(word in _HAVING for word in heard.norms(start, end))


def passive(heard: Heard, start: int, end: int) -> bool:
    """Whether an action is said to have been done to the part before it."""
    words = heard.norms(start, end)
    return not words or any(
        word in COPULAS or word in ("has", "have", "had", "gets", "got", "'ve", "goes", "going")
        for word in words
    )
