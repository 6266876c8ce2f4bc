"""Phrases that are none because they begin or end inside another name: "cut | in again one thirty eight"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from extract.numbers import is_number_word
from extract.sheet_phrases import WEAK
from extract.tokens import Token

if TYPE_CHECKING:
    from extract.mentions import Mention

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


def names_a_hole(words: Sequence[str], mention: Mention) -> bool:
    """Whether a part only tells whose hole it is ("corroded round the bolt holes")."""
    behind = words[mention.end] if mention.end < len(words) else ""
    return mention.kind in _NAMED and behind in _HOLES


def ends_an_item(mention: Mention, items: Sequence[Mention]) -> bool:
    """Whether an action begins inside what is measured ("cut | in again one thirty eight")."""
    inside = mention.kind == "action" and mention.end - mention.start > 1
    return inside and any(item.start < mention.start < item.end < mention.end for item in items)
