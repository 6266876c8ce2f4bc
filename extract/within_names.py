"""Phrases that mean nothing where they stand, most inside another name: "cut | in again one thirty eight"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from extract.cues import load_cues
from extract.numbers import is_number_word
from extract.sheet_phrases import WEAK
from extract.tokens import Token

if TYPE_CHECKING:
    from extract.mentions import Mention

_HOLDING = frozenset({"held", "hold", "holds", "holding"})
_NOT = frozenset({"not", "n't", "wouldn't", "won't", "didn't", "doesn't", "couldn't", "can't", "never"})
_MANNERS = frozenset({"the", "how", "like", "as", "what"})
_COMPARING = frozenset({"than", "like", "to", "as", "from", "against", "not", "nothing", "with"})
_LIMITS = ("limit_before", "limit_after")
#: Words of items that are what a valve or a switch is set to.
_SETTINGS = frozenset(
    {"relief", "safety", "trip", "overspeed", "unloader", "unloading", "setting", "set", "cut", "cutout",
     "switch", "governor", "bypass", "opening", "cracking", "alarm", "regulator", "pop", "lift", "lifting"}
)  # fmt: skip
_STAGES = ("as_found", "as_left")
_HOLES = frozenset({"hole", "holes", "circle"})
_NAMED = ("part", "other_part", "item")


def is_place_head(mention: Mention) -> bool:
    """Whether a mention is only the first word of a place ("pump" of "pump end")."""
    return mention.kind == "position" and mention.cost >= WEAK and mention.end == mention.start + 1


def begins_in_name(tokens: Sequence[Token], mention: Mention, places: Sequence[Mention]) -> bool:
    """Whether a cue's first "one" ends a number or a place ("… zero one i'd better", "vane one before")."""
    at = mention.start
    if mention.kind != "cue" or tokens[at].norm not in ("one", "1") or at == 0:
        return False
    return is_number_word(tokens[at - 1]) or any(place.start < at < place.end for place in places)


def inside_longer(mention: Mention, found: Sequence[Mention]) -> bool:
    """Whether a step is only a word of a finding ("badly washed out"), or it of a limit ("wear limit")."""
    if mention.kind == "step":
        return any(m.kind == "condition" and mention.inside(m) for m in found)
    if mention.kind not in ("condition", "action"):
        return False
    return any(m.key in _LIMITS and m.kind == "cue" and mention.inside(m) for m in found)


def only_compared(words: Sequence[str], mention: Mention) -> bool:
    """Whether "how it came in" is what something is compared with ("a lot better than how it came in")."""
    if mention.kind != "cue" or mention.key != "as_found" or mention.form.split()[0] not in _MANNERS:
        return False
    return mention.start > 0 and words[mention.start - 1] in _COMPARING


def holds_no_time(words: Sequence[str], mention: Mention) -> bool:
    """Whether a "held" tells no time: "held at twenty five", "wouldn't hold seventy"."""
    if mention.kind != "item" or mention.end - mention.start > 1 or words[mention.start] not in _HOLDING:
        return False
    before = words[mention.start - 1] if mention.start else ""
    return words[mention.end : mention.end + 1] == ["at"] or before in _NOT


def stage_behind_name(words: Sequence[str], mention: Mention, items: Sequence[Mention]) -> str | None:
    """Return the stage that an item's name only adds to the name before it, None where it adds none.

    With "front clearance" and "clearance as found" on one sheet, "front clearance as found" is the first
    of them and its stage.
    """
    if mention not in items:
        return None
    for name in items:
        if name.start < mention.start < name.end < mention.end:
            adds = " ".join(words[name.end : mention.end])
            return next((stage for stage in _STAGES if adds in load_cues()[stage]), None)
    return None


def names_a_hole(words: Sequence[str], mention: Mention) -> bool:
    """Whether a part only tells whose hole it is ("corroded round the bolt holes")."""
    behind = words[mention.end] if mention.end < len(words) else ""
    return mention.kind in _NAMED and behind in _HOLES


def ends_an_item(mention: Mention, items: Sequence[Mention]) -> bool:
    """Whether an action begins inside what is measured ("cut | in again one thirty eight")."""
    inside = mention.kind == "action" and mention.end - mention.start > 1
    return inside and any(item.start < mention.start < item.end < mention.end for item in items)


def is_setting(limit: Mention, items: Sequence[Mention]) -> bool:
    """Whether "at" names no limit because the sheet measures that very thing.

    "Relief's at twenty five hundred", "overspeed trip is at …", "relief setting lifts at …".
    """
    for item in items:
        if item.start == limit.start and item.end <= limit.end:
            return True
        if item.start < limit.start < item.end:
            return True
        if item.end == limit.start and limit.form.endswith(" at"):
            return any(not _SETTINGS.isdisjoint(key.split("_")) for key in item.keys)
    return False
