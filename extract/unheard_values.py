"""Values that were said in noise and not heard: their item or place is named, a number is missing.

"Sleeve runout inboard one thou outboard to that": something was said of the outboard. In a quiet room
a name without a number is only talked about; in noise, with words behind it that the ear was not sure
of, its value was most likely said. So it is asked for.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.bench_words import strange_words
from extract.heard import Heard
from extract.ledger import Ledger
from extract.mentions import Mention
from extract.reading_drafts import ReadingDraft, ReadingTalk
from extract.sheet_phrases import WEAK
from extract.stages import stage_of
from extract.talk_context import TalkContext
from extract.word_confidence import WordConfidence
from shared.job_sheet import JobSheet

#: A word heard with less may have been a number.
_MAY_BE_OTHER = 0.6
#: A name heard with less may have been another; the ear gives disputed words 0.45.
_NAMED = 0.4
_PLACE_NAMED = 0.8
#: A value stands so near behind the name of its place.
_NEAR = 3
_FRESH = 1


class UnheardValues:
    """Asks for values that noise hid, against one sheet."""

    def __init__(self, sheet: JobSheet) -> None:
        self._items = sheet.measured

    def asked(
        self, heard: Heard, talk: ReadingTalk, context: TalkContext, ledger: Ledger
    ) -> list[ReadingDraft]:
        """Return a question for each item or place that was named, is open and got no value here.

        Args:
            context: what came before the utterance.
        """
        if not heard.utterance.noisy or talk.loose or not heard.utterance.words:
            return []
        sure = WordConfidence(heard.utterance, heard.tokens)
        items = [m for m in heard.mentions.of("item") if _is_name(m) and sure.least(m.start, m.end) > _NAMED]
        if len({m.key for m in items}) > 1:
            return self._left_out(heard, items, talk, context, ledger, sure)
        places = [m for m in heard.mentions.of("position") if m.cost < WEAK and not m.repairs]
        if items:
            item, at = items[0].key, items[0]
        elif talk.drafts or context.item is None or context.item_age > _FRESH:
            return []
        else:
            item, at = context.item, None
        here = [m for m in places if len(_own(m, self._items[item].positions)) == 1]
        found = [
            self._question(heard, item, _own(m, self._items[item].positions)[0], m, context)
            for m in here
            if self._missing_at(heard, m, item, talk, ledger, sure, named_item=at is not None)
        ]
        alone = at is not None and not here and not talk.drafts and not self._items[item].positions
        if at is not None and alone and _open(ledger, item, None) and _unsure_behind(heard, sure, at.end):
            found.append(self._question(heard, item, None, at, context))
        return found

    def _left_out(
        self,
        heard: Heard,
        items: Sequence[Mention],
        talk: ReadingTalk,
        context: TalkContext,
        ledger: Ledger,
        sure: WordConfidence,
    ) -> list[ReadingDraft]:
        """Ask for the items of a list that got no value ("relief cap thirty coupling screw age": eight)."""
        had = {draft.item for draft in talk.drafts}
        found: dict[str, ReadingDraft] = {}
        for named in items:
            key = named.keys[0]
            if key in had or key in found or self._items[key].positions:
                continue
            stated = heard.clause_at(named.start).mood == "stated"
            if stated and _open(ledger, key, None) and _unsure_behind(heard, sure, named.end):
                found[key] = self._question(heard, key, None, named, context)
        return list(found.values())

    def _missing_at(
        self,
        heard: Heard,
        place: Mention,
        item: str,
        talk: ReadingTalk,
        ledger: Ledger,
        sure: WordConfidence,
        named_item: bool,
    ) -> bool:
        """Whether something that may have been a value was said at a place that has none."""
        position = _own(place, self._items[item].positions)[0]
        if any(d.item == item and d.position in (None, position) for d in talk.drafts):
            return False
        if not _open(ledger, item, position) or heard.clause_at(place.start).mood != "stated":
            return False
        if _unsure_behind(heard, sure, place.end):
            return named_item or sure.least(place.start, place.end) >= _PLACE_NAMED
        end = len(heard.tokens)
        only_place = place.start <= 1 and sure.least(place.start, place.end) >= _PLACE_NAMED
        return not talk.drafts and only_place and strange_words(heard, place.end, end) > 0

    def _question(
        self, heard: Heard, name: str, position: str | None, at: Mention, context: TalkContext
    ) -> ReadingDraft:
        item = self._items[name]
        draft = ReadingDraft(
            item=name,
            position=position,
            stage=stage_of(heard, at.start, at.end, item, position, context),
            value=None,
            unit=item.unit,
            said_unit=None,
            rule="reading: named in noise, its value not heard",
            start=at.start,
            end=at.end,
            confidence=heard.utterance.confidence,
            unsettles=False,
        )
        draft.ask("its value was not heard")
        return draft


def _is_name(mention: Mention) -> bool:
    return mention.cost < 1 and len(mention.keys) == 1 and not mention.repairs


def _own(place: Mention, positions: Sequence[str]) -> list[str]:
    return [key for key in place.keys if key in positions]


def _open(ledger: Ledger, item: str, position: str | None) -> bool:
    """Whether nothing stands there yet, no question either."""
    return ledger.standing_reading(item, position) is None


def _unsure_behind(heard: Heard, sure: WordConfidence, end: int) -> bool:
    """Whether the words right behind a name were heard so badly that they may have been a number."""
    last = min(end + _NEAR, len(heard.tokens))
    named = {i for m in heard.mentions.of("position", "item") for i in range(m.start, m.end)}
    behind: list[int] = []
    for i in range(end, last):
        if i in named:
            break
        behind.append(i)
    return any(sure.least(i, i + 1) < _MAY_BE_OTHER for i in behind)
