"""Whether what is measured is the new part: then it is measured as left, not as found."""

from __future__ import annotations

from functools import lru_cache

from extract.heard import Heard
from extract.item_words import said_words
from extract.talk_context import TalkContext
from extract.word_sets import word_set

_PAST = frozenset({"was", "were", "old", "worn", "last"})
_PUTTING_RIGHT = word_set("new_ones.putting_right")
#: Words of an item's name that only tell the stage.
TIMES = frozenset({"old", "worn", "new", "original", "before", "after", "found", "left", "as", "first"})


def of_a_new_one(heard: Heard, start: int, item: str) -> bool:
    """Whether the part that is measured was just said to be new ("new wear rings, clearance nine thou").

    Args:
        heard: the utterance.
        start: token that the value starts at.
        item: the sheet's key of what is measured.
    """
    names = said_words(name_words(item))
    for part in heard.mentions.of("part"):
        before = heard.norms(max(0, part.start - 2), part.start)
        said = said_words(heard.norms(part.end - 1, part.end))
        whole = all(other.start != part.end for other in heard.mentions.of("part"))
        denied = "no" in heard.norms(part.start - 3, part.start)
        if part.end <= start and "new" in before and names & said and whole and not denied:
            return True
    return False


def went_in(heard: Heard, context: TalkContext, item: str, position: str | None) -> bool:
    """Whether a place was measured as found before something went in, or what it is of went in since."""
    newer = context.built_since_found(item, position) or _own_part_is_newer(context, item)
    return newer and not _of_before(heard, item)


def own_part_went_in(heard: Heard, context: TalkContext, item: str) -> bool:
    """Whether the part that an item is called by is new or was fitted, and not measured as found since."""
    return _own_part_is_newer(context, item) and not _of_before(heard, item)


def _own_part_is_newer(context: TalkContext, item: str) -> bool:
    found = [number for (measured, _), number in context.found_at.items() if measured == item]
    own = [
        number
        for part, number in context.built.items()
        # Its last word tells what it is: a new shaft sleeve is no new shaft.
        if said_words(part.split("_")[-1:]) & said_words(name_words(item)) - TIMES
    ]
    return bool(own) and max(own) > max(found, default=-1)


def _of_before(heard: Heard, item: str) -> bool:
    """Whether the words mean the old part: they put right what was said, name it, or tell of the past."""
    words = {token.norm for token in heard.tokens}
    named = any(
        item in m.keys and m.cost < 1 and TIMES & set(m.form.split()) for m in heard.mentions.of("item")
    )
    return named or not _PAST.isdisjoint(words) or not _PUTTING_RIGHT.isdisjoint(words)


@lru_cache(maxsize=256)
def name_words(key: str) -> frozenset[str]:
    """Return the words of an item's key."""
    return frozenset(key.split("_"))
