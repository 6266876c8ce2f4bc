"""New parts that may not be in yet: asked for, brought, lying there, or said to have come from the stores."""

from __future__ import annotations

from itertools import pairwise

from extract.clause import Clause
from extract.heard import Heard
from extract.mentions import Mention
from extract.state_sense import COPULAS
from extract.word_sets import word_set

#: "The new seal" was renewed only where it is said to go in.
_FITTED = word_set("predicates.fitted")
_WENT = word_set("predicates.went")
_WANTING = word_set("predicate_sense.wanting")
_NOT_COME = word_set("predicate_sense.not_come")
_LYING = word_set("predicate_sense.lying")
_IT = ("it", "they", "she", "he")
_ARE = ("'s", "is", "are", "'re")
_NOT_YET = ("still", "on the bench", "in the wrapper", "not here", "not in", "not fitted", "not on")
_KEPT_IN = frozenset({"box", "boxes", "stores", "store", "bag", "packet", "wrapper", "shelf"})
#: So many words may stand before where a new part came from.
_FROM_REACH = 5


def lies_there(heard: Heard, mention: Mention) -> bool:
    """Whether a new one is not fitted yet ("there's a new one on the shelf")."""
    behind = heard.norms(mention.end, heard.clause_at(mention.start).end)
    return not _came_from(behind) and bool(_LYING & set(heard.norms(mention.end, mention.end + 3)))


def _came_from(behind: list[str]) -> bool:
    """Whether a clause ends with where a new part came from ("is new straight out of the box")."""
    behind = [word for word in behind if word != ","]
    at = next(
        (n for n, pair in enumerate(pairwise(behind)) if pair == ("out", "of") or pair[0] == "from"), None
    )
    if at is None or at > _FROM_REACH:
        return False
    place = [
        word for word in behind[at:] if word not in ("out", "of", "from", "the", "their", "its", "a", "'em")
    ]
    # "From the store it weighs forty kilos" goes on with something else.
    return place[:1] in ([name] for name in _KEPT_IN) and place[1:2] in ([], ["it"], ["she"], ["he"], ["and"])


def not_fitted_yet(heard: Heard, clause: Clause, mention: Mention) -> bool:
    """Whether new parts are only asked for, brought or lying there ("asked for a new impeller")."""
    if _WANTING & set(heard.norms(max(0, clause.start - 1), mention.start)):
        return True
    behind = heard.norms(mention.end, clause.end)
    if _came_from(behind):
        return _not_in(heard.norms(clause.start, len(heard.tokens)))
    lying = {b for a, b in pairwise(behind) if a in ("the", "my", "a", "in", "on", "its", "their")}
    if _LYING & lying - ({"way"} if {"all", "way"} <= set(behind) else set()):
        return True
    return bool(_NOT_COME & set(behind))


def _not_in(words: list[str]) -> bool:
    """Whether what came from the stores is told to lie there still, or to be the wrong one."""
    text = f" {' '.join(words)} "
    wrong = any(f"wrong {noun}" in text for noun in ("one", "ones", "size", "part", "type"))
    lies = any(
        f" {pronoun} {verb} {where} " in text for pronoun in _IT for verb in _ARE for where in _NOT_YET
    )
    return wrong or lies


def said_to_go_in(words: list[str]) -> bool:
    """Whether "the new" one is said to go in, not only told apart or measured."""
    for i, word in enumerate(words):
        lies = words[i + 2 : i + 3] in (["the"], ["a"], ["my"], ["its"]) and bool(
            _LYING & set(words[i + 3 : i + 5])
        )
        went = word in _WENT and words[i + 1 : i + 2] in (["in"], ["on"], ["up"])
        if word in _FITTED or (went and not lies):
            return True
        if (
            word in ("in", "on")
            and i
            and words[i - 1] in COPULAS
            and words[i + 1 : i + 2] not in (["the"], ["a"], ["its"], ["their"], ["order"])
        ):
            return True
        if word in ("in", "on") and i and i + 1 == len(words):
            return True
    return False
