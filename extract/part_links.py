"""How the words between a part and what is said of it tie the two: "is", "has got", "has cut a … in"."""

from __future__ import annotations

from extract.heard import Heard
from extract.numbers import is_number_word
from extract.predicates import Predicate
from extract.state_sense import COPULAS
from extract.word_sets import word_set

_HAVING = word_set("part_talk.having")
_MADE = word_set("part_talk.made")
_HEATED = frozenset({"cooked", "baked"})
_DEGREES = word_set("part_talk.degrees")


def without_links(heard: Heard, start: int, end: int) -> list[str]:
    """Return the words between two tokens that are no copulas and no degrees."""
    return [word for word in heard.norms(start, end) if word not in COPULAS and word not in _DEGREES]


def made_by(heard: Heard, start: int, end: int) -> bool:
    """Whether what stands before made the finding in something else ("has worn a groove in …")."""
    words = heard.norms(start, end)
    verb = next((n for n, word in enumerate(words) if word in _MADE), None)
    return verb is not None and not any(word in COPULAS for word in words[:verb] if word != "'s")


def only_makes(heard: Heard, predicate: Predicate) -> bool:
    """Whether a finding's word only tells what made another ("worn a groove in …", "rubbed a score")."""
    if predicate.kind == "condition" and predicate.form in _HEATED:
        # "Cooked the bearings to two thirty" heats them.
        reach = range(predicate.end, min(predicate.end + 6, len(heard.tokens) - 1))
        return any(heard.tokens[i].norm == "to" and is_number_word(heard.tokens[i + 1]) for i in reach)
    made = predicate.kind == "condition" and predicate.form in _MADE
    behind = heard.norms(predicate.end, predicate.end + 1)
    reach = range(predicate.end + 1, predicate.end + 4)
    return (
        made
        and behind in (["a"], ["an"], ["some"])
        and any(m.start in reach for m in heard.mentions.of("condition"))
    )


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
