"""Machines told from this one by where they stand: "the agitator on tank nine", "the pear line pump".

Sheets do not name their neighbours, so no list of phrases holds them: a machine's noun is read together
with the place said before or behind it, and any word of that which is none of this sheet's own makes
another machine of it. What lies on the bench, or runs "on test" or "at idle", is this one.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

from extract.number_words import NUMBER_WORDS
from extract.word_sets import word_set

MACHINES = (
    word_set("sheet_phrases.machines")
    | word_set("sheet_phrases.more_machines")
    | word_set("machines_elsewhere.nouns")
) - word_set("machines_elsewhere.not_alone")
_DEFINITE = frozenset({"the", "that"})
_AT = frozenset({"on", "at", "in", "of", "by", "over", "behind", "outside", "up", "down", "near", "across"})
_WAYS = frozenset({"back", "front", "left", "right", "top", "bottom", "side", "far", "near", "middle"})
_ARTICLES = frozenset({"the", "our", "their", "that", "a"})
_BESIDE = frozenset({"beside", "alongside", "opposite", "adjacent", "besides"})
_THIS = frozenset({"it", "this", "us", "ours", "mine", "her", "him", "here"})
_GROUNDS = word_set("machines_elsewhere.grounds")
_HERE = word_set("machines_elsewhere.here")
_VERBS = word_set("machines_elsewhere.verbs")
_OPENERS = frozenset({".", ",", "but", "and", "because", "so"})
_OTHER = frozenset({"other", "another", "the", "next"})
_OWNERS_OF_THIS = frozenset({"plant", "site", "customer", "client", "shop", "yard", "works"})
#: "The pump on the other side" was turned over.
_SAME_PLACE = frozenset({"side", "end", "half", "way", "hand"})
_MODIFIERS = 4
_PLACE_WORDS = 3


def machines_elsewhere(
    words: Sequence[str], named: Collection[int], own: Collection[str]
) -> list[tuple[int, int]]:
    """Return where machines are named that stand somewhere else: first word, word after the last.

    Args:
        words: the utterance.
        named: words inside the names of parts, items, places: a machine's noun there is none.
        own: what this machine is called.
    """
    found = []
    for i, word in enumerate(words):
        one = word == "one" and words[max(0, i - 1) : i] == ["the"]
        if not (one or word in MACHINES) or i in named:
            continue
        start = _article(words, i)
        bare = start is None and _opens(words, i)
        if bare:
            start = i
        if start is None:
            continue
        if _beside_this(words, i + 1):
            found.append((start, i + 1))
            continue
        place = _place_behind(words, named, i + 1)
        if place[:1] == ["other"] and not _SAME_PLACE.isdisjoint(place[1:2]):
            continue
        if one and (_GROUNDS - _WAYS).isdisjoint(place):
            # "The one on the left side" is a part.
            continue
        if bare:
            if i + 2 < len(words) and words[i + 2] in _OTHER and _is_strange(place, own):
                found.append((start, i + 1))
            continue
        told = i + 1 < len(words) and words[i + 1] in _VERBS
        modifiers = words[start + 1 : i]
        if _is_strange(place, own) or (told and (_stands_so(modifiers, own) or _owned(modifiers, own))):
            found.append((start, i + 1))
    return found


def _opens(words: Sequence[str], i: int) -> bool:
    """Whether a machine's noun opens a clause without an article ("pump on other line had …")."""
    return i == 0 or words[i - 1] in _OPENERS


def _beside_this(words: Sequence[str], i: int) -> bool:
    """Whether a machine stands beside this one ("the pump beside has …", "the unit next to it")."""
    at = i + (list(words[i : i + 2]) == ["next", "to"])
    if at == i and (i >= len(words) or words[i] not in _BESIDE):
        return False
    behind = words[at + 1] if at + 1 < len(words) else ""
    return behind in _THIS or (at == i and (behind in _VERBS or not behind))


def _is_strange(place: Sequence[str], own: Collection[str]) -> bool:
    """Whether a place is not this machine's own: "on the back pond" tells that, "at the back" does not."""
    foreign = [word for word in place if word not in own]
    return bool(foreign) and not (_WAYS.issuperset(foreign) and (_GROUNDS - _WAYS).isdisjoint(place))


def _stands_so(modifiers: Sequence[str], own: Collection[str]) -> bool:
    """Whether "pear line" before a machine's noun tells a place that is not this machine's."""
    return not _GROUNDS.isdisjoint(modifiers) and any(word not in own for word in modifiers)


def _owned(modifiers: Sequence[str], own: Collection[str]) -> bool:
    """Whether another machine or somebody has it ("the grinder's coolant pump")."""
    at = modifiers.index("'s") if "'s" in modifiers else 0
    return at > 0 and modifiers[at - 1] not in {*own, *_OWNERS_OF_THIS, *_HERE}


def _article(words: Sequence[str], i: int) -> int | None:
    """Return where "the" stands before a machine's noun, None where something else leads to it."""
    for at in range(i - 1, max(-1, i - 2 - _MODIFIERS), -1):
        if words[at] in _DEFINITE:
            return at
        owned = words[at] == "'s" and at > 0 and words[at - 1].isalpha()
        if owned:
            continue
        if not words[at].isalpha() or words[at] in _AT or words[at] in _VERBS:
            return None
    return None


def _place_behind(words: Sequence[str], named: Collection[int], i: int) -> list[str]:
    """Return the words of the place said right behind a machine's noun; none where it is no place."""
    if i >= len(words) or words[i] not in _AT:
        return []
    at = i + 1
    while at < len(words) and (words[at] in _ARTICLES or words[at] in _AT):
        at += 1
    led = at > i + 1 or (at < len(words) and words[at] in _OTHER)
    place: list[str] = []
    for n in range(at, min(len(words), at + _PLACE_WORDS)):
        word = words[n]
        if word in _VERBS or not word.isalpha() or n in named or word in _HERE:
            break
        if word in NUMBER_WORDS and not place:
            break
        place.append(word)
    behind = words[at + len(place)] if at + len(place) < len(words) else ""
    if not place or behind in _HERE or place[0] in _HERE or at in named:
        return []
    if not led and place[0] not in _GROUNDS:
        return []
    return place
