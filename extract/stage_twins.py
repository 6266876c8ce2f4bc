"""Items that measure the same before and after: which one is meant where the words say when.

A sheet may have "worn ring clearance" as found and "ring clearance" as left. "Ring clearance before
drive end point six two" names the second and means the first.
"""

from __future__ import annotations

from collections.abc import Mapping

from extract.heard import Heard
from extract.new_ones import TIMES, name_words, of_a_new_one, went_in
from extract.placings import Item
from extract.search_states import Filed, Found
from extract.stages import AS_LEFT, EITHER, phase_of, said_outright
from extract.talk_context import TalkContext
from extract.which_one import stage_by_which
from shared.units import KIND_OF_UNIT


def by_stage(heard: Heard, found: Found, items: Mapping[str, Item], context: TalkContext) -> Found:
    """Move what the search filed to the twin of its item, where the words say the twin's stage.

    So does what was done: a place measured as found is measured as left once a part went in.
    """
    filed = tuple(_moved(heard, one, items, context) for one in found.filed)
    if filed == found.filed:
        return found
    last = filed[-1].item if found.item is not None else None
    return found._replace(filed=filed, item=last)


def named_twin(heard: Heard, name: str, items: Mapping[str, Item]) -> str:
    """Return the item that is meant where one is only named, its value still to come."""
    stage = phase_of(heard)
    if stage is None or items[name].stage in (EITHER, stage):
        return name
    twins = [other for other in items.values() if other.stage == stage and _alike(items[name], other)]
    return twins[0].item if len(twins) == 1 else name


def _moved(heard: Heard, filed: Filed, items: Mapping[str, Item], context: TalkContext) -> Filed:
    item = items[filed.item]
    if item.stage == EITHER:
        return filed
    start, end = filed.quantity.start, filed.quantity.end
    stage = said_outright(heard, start) or stage_by_which(heard, start, end, item)
    new = of_a_new_one(heard, start, filed.item) or went_in(heard, context, filed.item, filed.position)
    stage = stage or (AS_LEFT if new else None)
    if stage is None or stage == item.stage:
        return filed
    twins = [other for other in items.values() if other.stage == stage and _alike(item, other)]
    return filed._replace(item=twins[0].item) if len(twins) == 1 else filed


def _alike(item: Item, other: Item) -> bool:
    """Whether two items are of one kind and unit, at the same places, and one name holds the other.

    The worst of all places may stand for them as found ("worn backlash" has none, "backlash" four).
    """
    if item.unit != other.unit:
        return False
    if list(item.positions) != list(other.positions) and other.positions:
        return False
    if KIND_OF_UNIT[item.unit] != KIND_OF_UNIT[other.unit]:
        return False
    mine, theirs = name_words(item.item), name_words(other.item)
    apart = mine ^ theirs
    shorter = min(len(mine), len(theirs))
    return (mine < theirs or theirs < mine) and (shorter > 1 or bool(apart and apart <= TIMES))
