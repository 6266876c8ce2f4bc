"""An item talked about before that a place brings back: "go back to stage six, that was point four six".

The talk has gone on to something that has no such place; what has it is meant, the latest first. What was
measured long ago comes back only where one item of the sheet alone has been read at that place.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from extract.corrections import Run
from extract.heard import Heard
from extract.placings import Item
from extract.reading_corrections import Earlier
from extract.sheet_phrases import WEAK
from extract.talk_context import TalkContext
from shared.record import ReadingEntry


def bring_back(
    heard: Heard,
    run: Run,
    context: TalkContext,
    earlier: Earlier,
    items: Mapping[str, Item],
    loose_positions: Sequence[str],
) -> ReadingEntry | None:
    """Go back to the item whose position was named, where the one talked about has no such position.

    "Vane two is, actually, twenty one" is no test pressure. ``context`` is moved to what comes back.

    Args:
        heard: the utterance.
        run: the words that put something right.
        context: what the talk is about.
        earlier: the readings filed so far.
        items: all items of the sheet.
        loose_positions: positions named before the run that no value has come for.

    Returns:
        The standing reading of the item there.
    """
    own = _place_in(heard, run) if run.goes_back and not loose_positions else None
    position = loose_positions[-1] if loose_positions else own
    if position is None or (context.item is not None and position in items[context.item].positions):
        return None
    having = [name for name, item in items.items() if position in item.positions]
    near = [name for name in context.earlier if name in having]
    if near and own is not None:
        # The search itself weighs what was talked about lately.
        return None
    read = [name for name in having if earlier.standing_reading(name, position) is not None]
    back = near or (read if len(read) == 1 else [])
    if not back:
        return None
    context.name_item(back[0])
    context.name_position(position)
    return earlier.standing_reading(back[0], position)


def _place_in(heard: Heard, run: Run) -> str | None:
    """Return the first place that a run names."""
    named = [m for m in heard.mentions.of("position") if run.start <= m.start < run.end and m.cost < WEAK]
    return named[0].key if named else None
