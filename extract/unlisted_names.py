"""Names of parts that no list has: "anchor bolt", "terminal box lid", "lifting handle".

A noun that ends machine parts' names, with what tells it apart before it, names a part of its own
even where the sheet has another one of that noun ("bowl bolts") or the part that it belongs to.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.mentions import Mention, Mentions
from extract.number_words import NUMBER_WORDS
from extract.numbers import is_number_word
from extract.tokens import Token
from extract.word_sets import word_set

#: Nouns that end the names of machine parts; "suction elbow" is a part though no list has it.
PART_HEADS = word_set("part_names.part_heads")
_MODIFIERS = word_set("unlisted_names.modifiers")
#: What makes a thing of its own of a noun even where the sheet calls a part by that noun alone ("rings").
_OTHER_KINDS = word_set("unlisted_names.other_kinds")
#: Nouns of what a part has, no parts of their own ("drain boss", "case joint").
FEATURES = word_set("unlisted_names.features")
#: "The van door handle" is none of the machine's.
HOUSEHOLD = word_set("unlisted_names.household")
#: Parts called by what they hold or lead.
_HOLDERS = frozenset({"cup", "cap", "plug", "tube", "pipe", "fitting", "tray", "lubricator"})
_NAMES = ("part", "other_part")
_CLOSED = ("item", "step", "consumable", "command", "action")
_LONGEST = 3
_BEFORE_VALUE = frozenset({",", "-", ":", "is", "'s", "was", "are", "at", "got", "to"})


def with_compounds(tokens: Sequence[Token], mentions: Mentions) -> Mentions:
    """Return the mentions with the unlisted parts that compounds name; what lies inside them is left out."""
    words = [token.norm for token in tokens]
    found = _compounds(words, mentions)
    if not found:
        return mentions
    places = {m for m in mentions.of("position") if _value_there(tokens, m, mentions, found)}
    kept = [
        m
        for m in mentions.all
        if m in places
        or not (m.kind in (*_NAMES, "condition", "photo", "position") and any(m.inside(c) for c in found))
    ]
    return Mentions([*kept, *found])


def _value_there(
    tokens: Sequence[Token], place: Mention, mentions: Mentions, compounds: Sequence[Mention]
) -> bool:
    """Whether a place that begins a compound tells where a named item was measured ("upper flange, 450")."""
    if not any(m.cost < 1 and m.end <= place.start for m in mentions.of("item")):
        return False
    whole = next((c for c in compounds if place.inside(c) and c.start == place.start), None)
    if whole is None or whole.end - place.end != 1:
        return False
    at = whole.end
    while at < len(tokens) and tokens[at].norm in _BEFORE_VALUE:
        at += 1
    if at < len(tokens) and is_number_word(tokens[at]):
        return True
    lead = [token.norm for token in tokens[max(0, place.start - 3) : place.start] if token.norm != "the"]
    number = place.start - 1 - (place.start > 0 and tokens[place.start - 1].norm == "the") - 1
    return lead[-1:] in (["on"], ["at"]) and number >= 0 and is_number_word(tokens[number])


def _compounds(words: Sequence[str], mentions: Mentions) -> list[Mention]:
    heads = [i for i, word in enumerate(words) if i and word in PART_HEADS and word not in FEATURES]
    if not heads:
        return []
    closed = {
        i
        for m in mentions.of(*_CLOSED)
        if m.cost < 1 and not _no_item(words, m) and not _what_it_holds(words, m)
        for i in range(m.start, m.end)
    }
    named = mentions.of(*_NAMES)
    places = {i for m in mentions.of("position") for i in range(m.start, m.end)}
    found = []
    for head in heads:
        own = [m for m in named if m.start <= head < m.end]
        if head in closed or (head + 1 < len(words) and words[head + 1] in PART_HEADS):
            continue
        if _begins_measured(mentions, head):
            # "Swapped a spacer, idler stack height now …".
            continue
        of_another_kind = words[head - 1] in _OTHER_KINDS
        if any(
            m.kind == "part" and (m.end - m.start > 1 or (m.cost < 1 and not of_another_kind)) for m in own
        ):
            continue
        longest = max((m.end - m.start for m in own), default=1)
        known = longest > 1
        # "Oil level glass" where the list has "level glass".
        start = _modified(words, named, head + 1 - longest) if known else _start(words, named, head)
        if start > head - longest or any(i in closed for i in range(start, head)):
            continue
        if places.issuperset(range(start, head)) and any(_is_whole(m, words[head]) for m in own):
            # "Bottom shaft" where the list has "shafts", one at the top and one at the bottom.
            continue
        if HOUSEHOLD & set(words[max(0, start - 1) : head]) or _in_names(words[start:head], own):
            continue
        called = " ".join(words[start : head + 1])
        found.append(Mention("other_part", (called.replace(" ", "_"),), start, head + 1, called))
    return found


def _begins_measured(mentions: Mentions, at: int) -> bool:
    """Whether a word is a place that what is measured there follows ("idler stack height")."""
    placed = any(m.start == at and m.end == at + 1 for m in mentions.of("position"))
    return placed and any(m.start == at + 1 and m.cost < 1 for m in mentions.of("item"))


def _no_item(words: Sequence[str], item: Mention) -> bool:
    """Whether one word of a compound is no item though items are called so ("the thrower ring was bent")."""
    alone = item.kind == "item" and item.end - item.start == 1 and item.start > 0
    if not alone or words[item.start - 1] not in _MODIFIERS:
        return False
    return not any(word in NUMBER_WORDS or word[0].isdecimal() for word in words[item.end :])


def _what_it_holds(words: Sequence[str], consumable: Mention) -> bool:
    """Whether a consumable only tells what a part holds or leads ("grease cup", "oil tube")."""
    behind = words[consumable.end : consumable.end + 1]
    told = consumable.kind == "consumable" and words[consumable.end - 1] in _MODIFIERS
    return told and not _HOLDERS.isdisjoint(behind)


def _is_whole(part: Mention, word: str) -> bool:
    """Whether a word, or several of it, is the whole name of a listed part."""
    return part.kind == "part" and any(key in (word, f"{word}s") for key in part.keys)


def _start(words: Sequence[str], named: Sequence[Mention], head: int) -> int:
    """Return where what tells the noun apart begins."""
    start = head
    while start > 0 and head - start < _LONGEST:
        whole = max((m.end - m.start for m in named if m.end == start), default=0)
        if whole:
            start -= whole
        elif words[start - 1] in _MODIFIERS or words[start - 1] in PART_HEADS:
            start -= 1
        else:
            break
    return start


def _modified(words: Sequence[str], named: Sequence[Mention], start: int) -> int:
    """Return where the words that tell a name of several words apart begin; other parts are none."""
    parts = {i for m in named for i in range(m.start, m.end)}
    first = start
    while (
        first > 0 and start - first < _LONGEST and words[first - 1] in _MODIFIERS and first - 1 not in parts
    ):
        first -= 1
    return first


def _in_names(modifiers: Sequence[str], tails: Sequence[Mention]) -> bool:
    """Whether what stands before a tail of listed names is of one of them ("casing cover bolts")."""
    listed = {word for m in tails if m.kind == "part" for key in m.keys for word in key.split("_")}
    return bool(listed & set(modifiers))
