"""Phrases that are none because they begin or end inside another name: "cut | in again one thirty eight"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from extract.cues import load_cues
from extract.numbers import is_number_word
from extract.sheet_phrases import WEAK
from extract.tokens import Token

if TYPE_CHECKING:
    from extract.mentions import Mention

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
