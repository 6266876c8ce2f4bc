"""What is measured once more: "second go, nineteen", "output now four thou".

The words name no item; it is the one that was measured there before, not what was talked about since.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from extract.corrections import Run
from extract.heard import Heard
from extract.placings import Item
from extract.reading_corrections import Earlier
from extract.reading_drafts import ReadingTalk
from extract.search_states import Outset
from extract.sheet_phrases import STEM, WEAK
from extract.talk_context import TalkContext
from extract.word_sets import phrase_set

_ONCE_MORE = phrase_set("readings.once_more")


def once_more(heard: Heard, run: Run, context: TalkContext, earlier: Earlier, outset: Outset) -> Outset:
    """Go back to the position just measured where the words only say that it was done again."""
    last = earlier.last_reading()
    if last is None or last.item != context.item or last.position is None or outset.position is not None:
        return outset
    if heard.number - last.evidence.utterance > 2 or not _says_again(heard, run):
        return outset
    return replace(outset, position=last.position)


def back_to_measured(
    heard: Heard, run: Run, context: TalkContext, earlier: Earlier, items: Mapping[str, Item]
) -> None:
    """Go back to the item measured lately at a place where the words say "again" or "now" and no item.

    "Pulled a shim out of the output side … output now four thou" measures what was too loose there, and
    not the shims; an item that was named in full since is meant, though.
    """
    said = [m for m in heard.mentions.of("item", "position") if run.start <= m.start < run.end]
    again = [m for m in heard.mentions.cues("again") if run.start <= m.start < run.end]
    places = [m for m in said if m.kind == "position" and m.cost < WEAK]
    if not again or not places or context.item is None or not context.item_weak:
        return
    if any(m.kind == "item" and m.cost < STEM for m in said):
        return
    here = places[0].keys
    if any(earlier.standing_reading(context.item, place) for place in here):
        return
    for item in context.earlier:
        if any(p in items[item].positions and earlier.standing_reading(item, p) for p in here):
            context.name_item(item)
            return


def measured_anew(heard: Heard, run: Run, talk: ReadingTalk) -> bool:
    """Whether a "wait" only opens what was measured again ("wait, there was dirt on it, again nineteen")."""
    said = {m.form for m in heard.mentions.cues("again") if run.start <= m.start < run.end}
    return not talk.drafts and any("again" in form.split() or form in _ONCE_MORE for form in said)


def _says_again(heard: Heard, run: Run) -> bool:
    """Whether a run opens with "second go", "once more" and names neither item nor position."""
    named = [
        m for m in heard.mentions.of("item", "position") if run.start <= m.start < run.end and m.cost < 1
    ]
    again = [
        m for m in heard.mentions.cues("again") if run.start <= m.start < run.end and m.form in _ONCE_MORE
    ]
    return bool(again) and not named
