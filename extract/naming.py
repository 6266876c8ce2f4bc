"""How a name was found in the words, told as a mechanic would: by its whole name, its end, its sound."""

from __future__ import annotations

from extract.heard import Heard
from extract.mentions import Mention
from extract.sheet_phrases import STEM, TAIL, WEAK
from shared.sheet_entries import words_of

_KINDS = {
    "item": "measured",
    "part": "part",
    "other_part": "part, not on the sheet",
    "position": "place",
    "condition": "condition",
    "action": "action",
    "consumable": "consumable",
    "photo": "picture",
    "step": "step",
    "command": "command",
    "cue": "cue",
}
#: Kinds whose names the sheet gives; the rest is the trade's.
_OF_SHEET = frozenset({"item", "part", "position", "photo", "step", "consumable"})
#: What mending the words costs; what is left tells how the name was said.
_REPAIR = 0.6


def kind_words(mention: Mention) -> str:
    """Return what kind of thing a mention names."""
    return _KINDS.get(mention.kind, words_of(mention.kind))


def names_of(mention: Mention) -> tuple[str, ...]:
    """Return what a mention may name, in words."""
    return tuple(words_of(key) for key in mention.keys)


def found_by(heard: Heard, mention: Mention) -> str:
    """Return by which phrase, and which mending of misheard words, a mention was found."""
    if mention.kind == "cue":
        found = f"cue {mention.form!r}"
    elif mention.kind == "other_part":
        found = f"known as a part of machines: {mention.form!r}"
    elif mention.kind in _OF_SHEET:
        found = f"sheet: {_way(mention)} {mention.form!r}"
    else:
        found = f"trade's phrase {mention.form!r}"
    return found + "".join(f"; mended: {repair}" for repair in mention.repairs)


def _way(mention: Mention) -> str:
    cost = mention.cost - (_REPAIR if mention.repairs else 0.0)
    if mention.kind == "position":
        return "the first word of the place" if cost >= WEAK else "the place's name"
    if cost >= STEM:
        return "only the part that is measured,"
    if cost >= TAIL:
        return "the end of a name,"
    return "the name" if cost <= 0 else "another way to say the name,"
