"""An item named only behind the values of a whole list: "number one 100, number two 98 on the tie rods".

What the talk was about before would take the first values, since the name stands at the last one only; a
list with its name behind it is about what it names, as one with its name in front.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from extract.heard import Heard
from extract.numbers import is_number_word
from extract.placings import Item
from extract.search_board import Board
from extract.search_states import Outset
from extract.sheet_phrases import WEAK

_LEADS = frozenset({"on", "for", "of", "in", "at", "round", "around"})
_ARTICLES = frozenset({"the", "my", "these", "those", "all", "our", "new", "old", "its"})
_CLOSING = frozenset({".", ",", "!", "then", "now", "so", "that", "'s", "is", "there", "too"})


def with_item_behind(heard: Heard, board: Board, outset: Outset, items: Mapping[str, Item]) -> Outset:
    """Return the outset of a run whose only item is named at its end; the one talked about comes second.

    Args:
        heard: the utterance.
        board: what stands where in the run.
        outset: what was talked about before.
        items: all items of the sheet.
    """
    start, end = board.start, board.end
    named = [m for m in heard.mentions.of("item") if start <= m.start < end and m.cost < 1]
    if len(named) != 1 or len(named[0].keys) != 1 or outset.correcting or named[0].key == outset.item:
        return outset
    item = named[0]
    if any(word not in _CLOSING for word in heard.norms(item.end, end)) or not _led_to(heard, item.start):
        return outset
    positions = items[item.key].positions
    spans = [span for i in range(start, item.start) for span in board.positions_at(i)]
    places = [span for span in spans if all(key in positions for key in span.keys)]
    foreign = any(
        m.end <= item.start and m.cost < WEAK and not any(key in positions for key in m.keys)
        for m in heard.mentions.of("position")
        if m.start >= start
    )
    if foreign or len({span.keys for span in places}) < 2:
        return outset
    if not _one_value(heard, max(span.end for span in places), item.start):
        return outset
    before = (outset.item, *outset.earlier) if outset.item is not None else outset.earlier
    return replace(outset, item=item.key, position=None, earlier=tuple(k for k in before if k != item.key))


def _led_to(heard: Heard, at: int) -> bool:
    """Whether "on the", "for" leads to the name."""
    while at and heard.tokens[at - 1].norm in _ARTICLES:
        at -= 1
    return at > 0 and heard.tokens[at - 1].norm in _LEADS


def _one_value(heard: Heard, start: int, end: int) -> bool:
    """Whether at most one value stands behind the last place: a second one is of the name behind it alone."""
    numbers = [i for i in range(start, end) if is_number_word(heard.tokens[i])]
    return not numbers or numbers[-1] - numbers[0] == len(numbers) - 1
