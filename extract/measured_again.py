"""What is measured once more: "second go, nineteen", "output now four thou".

The words name no item; it is the one that was measured there before, not what was talked about since.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from extract.conformity import judge
from extract.corrections import Run
from extract.heard import Heard
from extract.mentions import Mention
from extract.moved_amounts import MOVED, only_moved
from extract.placings import placings
from extract.quantity_arcs import longest_quantity
from extract.reading_corrections import Earlier
from extract.reading_drafts import ReadingDraft, ReadingTalk
from extract.search_states import Filed, Outset
from extract.sheet_phrases import STEM, WEAK
from extract.talk_context import TalkContext
from extract.word_sets import phrase_set, word_set
from shared.job_sheet import JobSheet
from shared.record import Candidate, ReadingEntry

_ONCE_MORE = phrase_set("readings.once_more")
_MOVING = word_set("recitals.moving") | word_set("measured_again.moving")
_JUST_NOW = 2
_LEFT = frozenset({"still", "left", "more", "go"})
#: A value goes back to what was measured within so many utterances.
_LATELY = 8


def once_more(heard: Heard, run: Run, context: TalkContext, earlier: Earlier, outset: Outset) -> Outset:
    """Go back to the position just measured where the words only say that it was done again."""
    last = earlier.last_reading()
    if last is None or last.item != context.item or last.position is None or outset.position is not None:
        return outset
    if heard.number - last.evidence.utterance > 2 or not _says_again(heard, run):
        return outset
    return replace(outset, position=last.position)


@dataclass(frozen=True, slots=True)
class Contest:
    """Two items spoken of lately that a value could be of, where the words name none."""

    measured: str
    """Measured at that place before."""
    named: str
    """Named since."""


class MeasuredAgain:
    """Goes back to what was measured before, against one sheet."""

    def __init__(self, sheet: JobSheet) -> None:
        self._sheet = sheet
        self._items = sheet.measured

    def back(self, heard: Heard, run: Run, context: TalkContext, earlier: Earlier) -> Contest | None:
        """Move the talk back to the item that was measured at a place, where that is what is meant.

        "Pulled a shim out of the output side … output now four thou" measures what was too loose there,
        and not the shims. What was too loose has the better claim where the item named since was only
        touched in passing; where both have one the contest is returned, to be asked about.
        """
        named = context.item
        said = [m for m in heard.mentions.of("item", "position") if run.start <= m.start < run.end]
        if named is None or any(m.kind == "item" and m.cost < STEM for m in said):
            return None
        places = [key for m in said if m.kind == "position" and m.cost < WEAK for key in m.keys][:1]
        place = places[0] if places else None
        known = self._measured_at(heard, run, place, context, earlier)
        if known is None:
            return None
        again = any(run.start <= m.start < run.end for m in heard.mentions.cues("again"))
        is_open = known.needs_review or known.verdict == "outside"
        can = self._has(named, place) and self._could_have(heard, run, named, context)
        if not can or earlier.standing_reading(named, place) is None:
            if again and (context.item_weak or (context.item_moved and is_open)):
                context.name_item(known.item)
                return None
            passing = context.item_weak or context.item_moved
            if not can or not (again or passing) or not (is_open or context.item_moved):
                return None
        elif not (again and is_open and self._could_have(heard, run, known.item, context, within=True)):
            return None
        return Contest(known.item, named)

    def _measured_at(
        self, heard: Heard, run: Run, place: str | None, context: TalkContext, earlier: Earlier
    ) -> ReadingEntry | None:
        """Return the reading of an item spoken of before that stands at a place, and could have the value."""
        for item in context.earlier:
            known = earlier.standing_reading(item, place) if self._has(item, place) else None
            lately = known is not None and heard.number - known.evidence.utterance <= _LATELY
            if known is not None and lately and self._could_have(heard, run, item, context):
                return known
        return None

    def _has(self, item: str, place: str | None) -> bool:
        positions = self._items[item].positions
        return place in positions if place is not None else not positions

    def _could_have(
        self, heard: Heard, run: Run, item: str, context: TalkContext, within: bool = False
    ) -> bool:
        """Whether an item could have a value of the run, one within its limits where that is asked for."""
        inside = {i for m in heard.mentions.of("position") for i in range(m.start, m.end)} | heard.walls
        for at in range(run.start, run.end):
            quantity = None if at in inside else longest_quantity(heard.tokens, at)
            if quantity is None or quantity.value is None:
                continue
            found = placings(quantity, self._items[item], self._sheet, context.carried.get(item))
            if any(
                p.plausible and (not within or judge(p.value, self._items[item]) == "within") for p in found
            ):
                return True
        return False


def doubt_contest(heard: Heard, drafts: Sequence[ReadingDraft], contest: Contest | None) -> None:
    """Ask which of two items a value is of, where the words name neither."""
    if contest is None:
        return
    for draft in drafts:
        if draft.item in (contest.measured, contest.named):
            both = (Candidate(item=contest.measured), Candidate(item=contest.named))
            draft.ask("it was not said which of two it measures", *both, leads=False)


def moved(heard: Heard, mention: Mention) -> bool:
    """Whether something is taken out or put in where an item is named, so that the item is not measured."""
    clause = heard.clause_at(mention.start)
    return bool(_MOVING & set(heard.norms(clause.start, mention.start)))


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


def doubt_after_shims(
    heard: Heard, drafts: Sequence[ReadingDraft], filed: Sequence[Filed], earlier: Earlier
) -> None:
    """Ask whether "took seven thou of shim out and it's four" measures what was measured before.

    Where the value moved by just what was taken out or put in, it does.
    """
    shims = [m for m in heard.mentions.of("item", "part") if only_moved(heard.tokens, heard.walls, m)]
    for draft, one in zip(drafts, filed, strict=True):
        if one.source not in ("context", "earlier") or not any(m.end <= draft.start for m in shims):
            continue
        known = earlier.standing_reading(draft.item, draft.position)
        moved = [barred.quantity.value for barred in heard.barred if barred.reason == MOVED]
        by = (
            abs(draft.value - Fraction(known.value_exact))
            if known is not None and known.value_exact and draft.value is not None
            else None
        )
        lately = known is not None and heard.number - known.evidence.utterance <= _JUST_NOW
        lately = lately and _LEFT.isdisjoint(heard.norms(0, len(heard.tokens)))
        told = (
            lately
            and by is not None
            and any(value is not None and _same_figures(value, by) for value in moved)
        )
        if not told:
            draft.ask("it may be of the shims")


def _same_figures(said: Fraction, real: Fraction) -> bool:
    """Whether an amount has the figures of a length in inches or millimetres ("seven thou", 0.007)."""
    return said != 0 and any(
        real == said * scale for scale in (1, Fraction(1, 1000), Fraction(1, 100), Fraction(1, 10))
    )
