"""Whether something of its own is said of a part that may be the last of a list."""

from __future__ import annotations

from extract.heard import Heard
from extract.word_sets import word_set

_OWN_VERBS = word_set("part_names.own_verbs")
_SINGULAR = (["'s"], ["is"], ["was"], ["goes"], ["going"], ["went"])


def has_own_verb(heard: Heard, end: int) -> bool:
    """Whether something is said of a part right behind it ("… the casing goes", "… the rods we use").

    Args:
        end: token behind the part.
    """
    behind = heard.norms(end, end + 1)
    return bool(behind) and behind[0] in _OWN_VERBS


def told_of_alone(heard: Heard, end: int) -> bool:
    """Whether what stands behind the last of a list is no part of "new": "…, impeller's back on"."""
    if heard.norms(end, end + 1) in _SINGULAR:
        return True
    told = heard.mentions.of("action", "condition")
    return any(m.start == end and m.key in ("reused", "good") for m in told)


def told_apart(heard: Heard, start: int, end: int) -> bool:
    """Whether the last of a list has an article and a verb of its own ("a new crank and the rods we use")."""
    return has_own_verb(heard, end) and heard.norms(start - 1, start) == ["the"]
