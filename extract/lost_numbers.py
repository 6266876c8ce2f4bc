"""Numbers that would be dropped with talk taken for chatter, though an item of the sheet awaits one.

A misheard name or place makes job talk look like chatter. So what would be dropped is looked at once
more: is there a number that an open item could have, and does enough speak for it (a place, an exact
figure, a unit of the bench, the engine's score)? Then it is asked about, never filed and never lost in
silence. The words of real chatter have no such number, or too many words that belong to nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from extract.bench_words import strange_words
from extract.conformity import judge
from extract.heard import Heard
from extract.job_talk import DOUBTFUL_BAND, Standing, may_be_meant
from extract.ledger import Ledger
from extract.lone_numbers import counts_things
from extract.loose_numbers import counts_only, loose_number
from extract.numbers import is_number_word
from extract.placings import Item, Placing, placings, span_of
from extract.quantity_arcs import Quantity, longest_quantity
from extract.reading_drafts import LooseNumber, ReadingDraft, ReadingTalk, value_candidate
from extract.sheet_phrases import WEAK
from extract.stages import stage_of
from extract.talk_context import TalkContext
from extract.unheard_values import UnheardValues
from extract.unsettled import says_again
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.record import Candidate
from shared.units import KIND_OF_UNIT, decimal_text

#: So much has to speak for a number; less is let go with the chatter.
_ENOUGH = 3
#: With more words than that which belong to nothing, the talk is of something else.
_STRANGE = 3
#: An item talked about not longer ago than this many utterances still awaits its number.
_FRESH = 3
#: So many items may a number be of; one that fits any item says nothing.
_MOST_ITEMS = 3
_EXACT_DIGITS = 3
_UNREAD = frozenset(
    {
        "belongs to no item of the sheet",
        "nothing said what it measures",
        "an amount, not a reading",
    }
)
_MEASURING = word_set("lost_numbers.measuring")
_TOOLS = word_set("position_spans.tools") | word_set("lost_numbers.tools")
#: Of these kinds any talk is full.
_EVERYDAY = ("time", "count", None)

#: What these measure is a length.
_MIKED = frozenset(
    {"mic", "mics", "mike", "mikes", "miked", "micrometer", "feeler", "feelers", "caliper", "calipers"}
)


@dataclass(frozen=True)
class _Fit:
    """An item that a number could be of, and its value there."""

    item: str
    position: str | None
    placing: Placing
    points: int


class LostNumbers:
    """Asks about numbers in talk that would be dropped, against one sheet."""

    def __init__(self, sheet: JobSheet, job_score_least: float) -> None:
        self._sheet = sheet
        self._items = sheet.measured
        self._job_score_least = job_score_least
        self._unheard = UnheardValues(sheet)

    def meant(
        self, heard: Heard, talk: ReadingTalk, standing: Standing, context: TalkContext, ledger: Ledger
    ) -> list[ReadingDraft]:
        """Return what to ask about in talk that is taken for chatter.

        Whole readings, with their item; those that go on with the item talked about or put it right at
        a place that the words name; else numbers that an open item awaits.
        """
        if standing == "doubtful" and (meant := [d for d in talk.drafts if may_be_meant(d)]):
            for draft in meant:
                offered = [value_candidate(draft.value, draft.unit)] if draft.value is not None else []
                draft.ask("the engine took it for talk beside the job", *offered, leads=False, by_ear=True)
                draft.corrects = None
            return meant
        score = heard.utterance.job_score
        if score is not None and score < self._job_score_least - DOUBTFUL_BAND:
            return []
        return self._awaited(heard, talk, context, ledger)

    def in_job_talk(
        self, heard: Heard, talk: ReadingTalk, context: TalkContext, ledger: Ledger
    ) -> list[ReadingDraft]:
        """Return what to ask about in job talk that gave no reading: exact figures at a place of an item.

        In noise also figures so exact that they tell their item, and values that were not heard. All
        other numbers of job talk are in the record as not filed.
        """
        if unheard := self._unheard.asked(heard, talk, context, ledger):
            return unheard
        if talk.drafts:
            return []
        awaited = self._awaited(heard, talk, context, ledger)
        if says_again(heard):
            # "There was grit under it, again five thou": of what was measured before, most likely.
            return [d for d in awaited if ledger.standing_reading(d.item, d.position) is not None]
        return [d for d in awaited if (d.position and _exact(d.quantity)) or _telling(heard, d.quantity)]

    def _awaited(
        self, heard: Heard, talk: ReadingTalk, context: TalkContext, ledger: Ledger
    ) -> list[ReadingDraft]:
        """Return a question an item for the numbers that nothing was made of."""
        if _of_something_else(heard, context):
            return []
        found: dict[tuple[str, str | None], ReadingDraft] = {}
        numbers = [number for number in talk.loose if number.reason in _UNREAD]
        numbers += [loose_number(heard, d.quantity, "doubtful") for d in talk.drafts if d.quantity]
        if _ranges(numbers, heard):
            return []
        for number in numbers:
            if _counts(heard, number):
                continue
            fits = self._fits(heard, number.quantity, context, ledger)
            if fits:
                place = fits[0].item, fits[0].position
                draft = found.setdefault(place, self._draft(heard, number, fits[0], context))
                _offer(draft, fits, self._items[fits[0].item].unit)
        if not found and (bare := self._nothing_else(heard, talk, context, ledger)) is not None:
            return [bare]
        return list(found.values())

    def _fits(self, heard: Heard, quantity: Quantity, context: TalkContext, ledger: Ledger) -> list[_Fit]:
        """Return the items that a number could be of, for which enough speaks, the likeliest first."""
        about = [context.item, *context.earlier] if context.item_age <= _FRESH else []
        found = [
            fit
            for name in self._items
            if (fit := self._fit(heard, quantity, name, context, ledger, name in about)) is not None
        ]
        found.sort(key=lambda fit: (-fit.points, fit.item != context.item))
        best = [fit for fit in found if fit.points == found[0].points]
        return best if len(best) <= _MOST_ITEMS else []

    def _fit(
        self,
        heard: Heard,
        quantity: Quantity,
        name: str,
        context: TalkContext,
        ledger: Ledger,
        talked_about: bool,
    ) -> _Fit | None:
        item = self._items[name]
        unit = quantity.unit.unit if quantity.unit is not None else None
        by_unit = unit is not None and KIND_OF_UNIT[unit] not in _EVERYDAY
        position = _position(heard, quantity, item.positions)
        if not (talked_about or by_unit or position is not None or _telling(heard, quantity)):
            return None
        if item.measured_kind != "length" and not _MIKED.isdisjoint(heard.norms(0, len(heard.tokens))):
            return None
        span = span_of(item)
        placed = [
            p
            for p in placings(quantity, item, self._sheet, context.carried.get(name))
            if p.plausible and span.least is not None and "point placed" not in p.how
        ]
        if not placed or (item.measured_kind in _EVERYDAY and name != context.item):
            return None
        if position is None and _recites(placed[0], item, quantity):
            return None
        points = _points(heard, quantity) + by_unit + (position is not None) + (name == context.item)
        points += judge(placed[0].value, item) == "within"
        points += 2 * (talked_about and _one_each(heard, item))
        points += _is_open(ledger, name, position, item.positions)
        return _Fit(name, position, placed[0], points) if points >= _ENOUGH else None

    def _draft(self, heard: Heard, number: LooseNumber, fit: _Fit, context: TalkContext) -> ReadingDraft:
        item = self._items[fit.item]
        draft = ReadingDraft(
            item=fit.item,
            position=fit.position,
            stage=stage_of(heard, number.start, number.end, item, fit.position, context),
            value=None,
            unit=item.unit,
            said_unit=fit.placing.said_unit,
            rule="reading: number in talk that names no item",
            start=number.start,
            end=number.end,
            quantity=number.quantity,
            confidence=heard.utterance.confidence,
            unsettles=says_again(heard) or bool(heard.mentions.cues("correction")),
        )
        draft.ask("it was not understood what the number is of")
        if fit.position is None:
            draft.candidates += [Candidate(position=position) for position in item.positions]
        return draft

    def _nothing_else(
        self, heard: Heard, talk: ReadingTalk, context: TalkContext, ledger: Ledger
    ) -> ReadingDraft | None:
        """Ask where a breath is nothing but a number, and the item just talked about cannot have it."""
        name = context.item
        numbers = [n for n in talk.loose if n.reason in _UNREAD]
        if name is None or context.item_age > _FRESH or len(numbers) != 1 or talk.drafts:
            return None
        number, item = numbers[0], self._items[name]
        words = [token.norm for token in heard.tokens if token.norm[0].isalnum()]
        exact = number.end - number.start >= 2
        if len(words) > number.end - number.start + 1 or not exact or number.quantity.unit is not None:
            return None
        if not _is_open(ledger, name, None, item.positions):
            return None
        placed = placings(number.quantity, item, self._sheet, context.carried.get(name))
        if not placed or _recites(placed[0], item, number.quantity):
            return None
        draft = self._draft(heard, number, _Fit(name, None, placed[0], 0), context)
        draft.ask("not plausible for this item", value_candidate(placed[0].value, item.unit))
        return draft


def _of_something_else(heard: Heard, context: TalkContext) -> bool:
    """Whether the words are private, ask or recite a limit, or answer a question."""
    if not heard.tokens or heard.mentions.cues("private", "limit_before", "limit_after"):
        return True
    if all(clause.mood != "stated" for clause in heard.clauses):
        return True
    return context.asked_last


def _counts(heard: Heard, number: LooseNumber) -> bool:
    quantity, unit = number.quantity, number.quantity.unit
    if quantity.value is None or quantity.approximate or quantity.span or quantity.others:
        return True
    if unit is not None and (unit.foreign or (unit.unit and KIND_OF_UNIT[unit.unit] in _EVERYDAY)):
        return True
    of_tool = bool(_TOOLS & set(heard.norms(quantity.end, quantity.end + 2)))
    things = unit is None and counts_things(heard.tokens, quantity.end)
    piece = quantity.number.scale == "plain" and counts_only(heard, quantity)
    return of_tool or things or piece


def _ranges(numbers: Sequence[LooseNumber], heard: Heard) -> bool:
    """Whether numbers are the ends of a range ("five to ten thousandths"): limits, most likely."""
    return any(heard.norms(a.end, b.start) == ["to"] for a, b in pairwise(numbers))


def _one_each(heard: Heard, item: Item) -> bool:
    """Whether as many numbers were said as an item has places ("that gives me eighteen, nineteen, …")."""
    said, at = 0, 0
    while at < len(heard.tokens):
        quantity = longest_quantity(heard.tokens, at)
        said += quantity is not None
        at = quantity.end if quantity is not None else at + 1
    return said == len(item.positions) > 2


def _position(heard: Heard, quantity: Quantity, positions: Iterable[str]) -> str | None:
    """Return the position of an item that the words name: the only one, or the one beside the number."""
    known = set(positions)
    named: dict[str, bool] = {}
    # "Inboard 128, outboard 131": each place leads its value.
    places = [m.start for m in heard.mentions.of("position") if known & set(m.keys)]
    leading = (
        bool(places)
        and longest_quantity(heard.tokens, places[0]) is None
        and not any(is_number_word(token) for token in heard.tokens[: places[0]])
    )
    for mention in heard.mentions.of("position"):
        held = known & set(mention.keys)
        if mention.cost < WEAK and len(held) == 1:
            before = 0 <= quantity.start - mention.end <= 1
            beside = before or (mention.start == quantity.end and not leading)
            key = held.pop()
            named[key] = named.get(key, False) or beside
    close = [key for key, beside in named.items() if beside]
    found = close or list(named)
    return found[0] if len(found) == 1 else None


def _points(heard: Heard, quantity: Quantity) -> int:
    """Return what speaks for a number, whatever it is of."""
    score = heard.utterance.job_score
    points = int(_digits(quantity) >= _EXACT_DIGITS)
    if score is not None:
        points += 1 if score > 0 else -1
    norms = heard.norms(0, len(heard.tokens))
    points += bool(_MEASURING & set(norms)) or says_again(heard) or bool(heard.mentions.cues("correction"))
    strange = strange_words(heard, 0, len(heard.tokens), [(quantity.start, quantity.end)])
    return points - (strange > _STRANGE) - (strange > 2 * _STRANGE)


def _recites(placing: Placing, item: Item, quantity: Quantity) -> bool:
    """Whether exact figures are just a limit of the item, recited."""
    limits = (Fraction(limit) for limit in (item.lower, item.upper) if limit is not None)
    return _digits(quantity) >= _EXACT_DIGITS and placing.value in limits


def _is_open(ledger: Ledger, item: str, position: str | None, positions: Iterable[str]) -> bool:
    """Whether a place of an item has no sure reading yet."""
    places: list[str | None] = [position] if position is not None else [*positions] or [None]
    standing = [ledger.standing_reading(item, place) for place in places]
    return any(reading is None or reading.needs_review for reading in standing)


def _offer(draft: ReadingDraft, fits: list[_Fit], unit: str) -> None:
    """Add what a number may be to a question."""
    value = fits[0].placing.value
    draft.ask(draft.reasons[0], value_candidate(value, unit))
    if len(fits) > 1:
        draft.ask(draft.reasons[0], *(Candidate(item=fit.item) for fit in fits))


def _exact(quantity: Quantity | None) -> bool:
    return quantity is not None and _digits(quantity) >= _EXACT_DIGITS


def _telling(heard: Heard, quantity: Quantity | None) -> bool:
    """Whether a number in noise has so many figures that few items could have it: its item went unheard."""
    if quantity is None or not heard.utterance.noisy or any(m.cost < 1 for m in heard.mentions.of("item")):
        return False
    return _digits(quantity) > _EXACT_DIGITS


def _digits(quantity: Quantity) -> int:
    """Return how many figures of a number tell something: 3 of 1.06, 2 of 130."""
    text = decimal_text(quantity.value or Fraction(0))
    return len(text.replace(".", "").strip("-0"))
