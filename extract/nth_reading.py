"""Readings told apart by their order: "actually the first one was two", of the two just given."""

from __future__ import annotations

from collections.abc import Sequence

from extract.corrections import Run
from extract.heard import Heard
from extract.reading_drafts import ReadingDraft
from extract.sheet_phrases import WEAK
from extract.swapped import Stood
from shared.record import ReadingEntry

_ORDER = {"first": 0, "second": 1, "third": 2, "fourth": 3, "fifth": 4, "last": -1}
#: So many utterances later it is no longer known which ones are counted.
_REACH = 2


def tie_nth(heard: Heard, run: Run, drafts: Sequence[ReadingDraft], stood: Stood) -> None:
    """Give what puts right "the first one" to the place of the first of the readings just given.

    Asked about where it is not plain which readings are counted.
    """
    said = [i for i in range(run.start, run.end - 1) if _counts(heard, i)]
    places = (m for m in heard.mentions.of("position") if m.cost < WEAK)
    placed = any(run.start <= m.start < run.end for m in places)
    if not said or placed or len(drafts) != 1 or drafts[0].position is None:
        return
    draft, at = drafts[0], _ORDER[heard.tokens[said[0]].norm]
    lately = [r for r in stood.readings() if r.standing and 0 < stood.age_of(r) <= _REACH]
    breath = [r for r in lately if stood.age_of(r) == stood.age_of(lately[-1]) and r.item == draft.item]
    reading: ReadingEntry | None = breath[at] if -1 <= at < len(breath) and len(breath) > 1 else None
    if reading is None:
        draft.ask("which one that is was not understood", leads=False)
        return
    draft.position, draft.stage, draft.corrects = reading.position, reading.stage, reading.id
    draft.rule += "; the place by its order"


def _counts(heard: Heard, i: int) -> bool:
    """Whether a token counts a reading ("the first one was …")."""
    return heard.tokens[i].norm in _ORDER and heard.tokens[i + 1].norm == "one"
