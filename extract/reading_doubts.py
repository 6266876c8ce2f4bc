"""A reading with every doubt that there is about it.

What the speaker was not sure of, what the sheet finds implausible, what can be read or heard in
another way: each makes a question of the reading. Nothing doubtful leaves here as sure.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from fractions import Fraction

from extract.clause import Clause
from extract.conformity import judge
from extract.excepted_places import rest_untold
from extract.heard import Heard
from extract.item_words import measured_by_verb, said_in, telling_words
from extract.loose_numbers import counts_only
from extract.number_words import ONES
from extract.numbers import is_number_word
from extract.placing_doubts import pointed_otherwise, small_and_far
from extract.placings import Item, is_plausible, placings, span_of
from extract.quantity_arcs import Quantity, longest_quantity
from extract.reading_drafts import ReadingDraft, value_candidate
from extract.search_states import Filed
from extract.sheet_phrases import STEM, TAIL
from extract.stages import EITHER, stage_of
from extract.talk_context import TalkContext
from extract.unsure_hearing import doubt_hearing, value_confidence
from extract.which_one import BY_WHICH, stage_by_which
from extract.word_confidence import WordConfidence
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.record import Candidate
from shared.units import convert

#: A value leads its rivals by at least so much cost.
_LEADS = 0.5
#: Words that say which of two values in one breath holds, or that both were passed through.
_GLUE = word_set("bench_words.glue")
#: A rough value and what it is more closely differ by no more than this share, and these words part them.
_CLOSER = Fraction(1, 5)
_CLOSING = frozenset({",", "so", "call", "it", "say", "well", "that", "'s", "is", "or", "."})
#: Before the tail of a name these may be its first word misheard ("turn pressure" for churn pressure).
_NO_LEADS = frozenset(
    {"turn", "start", "keyway", "face", "base", "needle", "gun", "depth", "height", "screen"}
)
_TAIL_LEADS = word_set("part_names.adjectives")
_IN_TURN = frozenset({"pass", "first", "final", "then", "started", "lap", "second", "last", "finally"})

#: These label numbers of the job.
_LABELS = frozenset({"order", "serial", "tag", "ticket"})


class ReadingDoubts:
    """Makes drafts of what the search filed, against one sheet."""

    def __init__(self, sheet: JobSheet, confidence_least: float) -> None:
        self._sheet = sheet
        self._items = sheet.measured
        self._confidence_least = confidence_least
        self._item_words = telling_words(sheet)
        self._told: set[str] = set()

    def draft(
        self,
        heard: Heard,
        filed: Filed,
        rivals: Sequence[tuple[float, Filed]],
        context: TalkContext,
        sure: WordConfidence,
    ) -> ReadingDraft:
        """Make a draft of a reading, with every doubt that there is about it."""
        item = self._items[filed.item]
        quantity = filed.quantity
        said = said_in(heard.norms(0, len(heard.tokens)))
        self._told = {key for key, words in self._item_words.items() if words & said}
        draft = ReadingDraft(
            item=filed.item,
            position=filed.position,
            stage=stage_of(heard, quantity.start, quantity.end, item, filed.position, context),
            value=filed.placing.value if quantity.value is not None else None,
            unit=item.unit,
            said_unit=filed.placing.said_unit,
            rule=_rule(filed),
            start=quantity.start,
            end=quantity.end,
            quantity=quantity,
            repairs=_repairs(heard, filed),
            confidence=value_confidence(filed, item, self._sheet, sure),
            known_again=bool(heard.mentions.cues("again")),
        )
        if item.stage == EITHER and stage_by_which(heard, quantity.start, quantity.end, item):
            draft.rule += f"; {BY_WHICH}"
        self._doubt_words(heard, draft, filed)
        self._doubt_value(draft, filed, rivals, context)
        doubt_hearing(heard, draft, filed, self._sheet, self._confidence_least)
        return draft

    def _doubt_words(self, heard: Heard, draft: ReadingDraft, filed: Filed) -> None:
        """Ask where the speaker was not sure, or did not say all that is needed."""
        quantity = filed.quantity
        if filed.note:
            draft.ask(filed.note, *self._position_candidates(filed))
        if quantity.value is None:
            draft.ask("only about so much was said", leads=False)
        if quantity.approximate and quantity.value is not None:
            draft.ask("said to be about so much", leads=not quantity.bound)
        clause = heard.clause_at(quantity.start)
        if clause.hedged and not quantity.others and not _only_another_hedged(heard, clause, quantity):
            draft.ask("the speaker was not sure", value_candidate(filed.placing.value, draft.unit))
        if filed.source in ("context", "earlier") and small_and_far(filed, span_of(self._items[filed.item])):
            draft.ask("far from the limits for a value said so short", leads=False)
        norms = heard.norms(0, len(heard.tokens))
        other = any(
            word == "other" and token.norm != "one" and is_number_word(token)
            for word, token in zip(norms, heard.tokens[1:], strict=False)
        )
        if other or rest_untold(heard.tokens):
            draft.ask("something was said of the rest")
        places = self._items[filed.item].positions
        if filed.position_style == "in_turn" and _begins_with_place(heard, filed, places):
            draft.ask("its place may be said with it", leads=False)
        if filed.source == "said" and _named_oddly(heard, filed, self._item_words[filed.item]):
            draft.ask("its name was not quite understood", Candidate(item=filed.item), leads=False)
        if filed.source == "kind" and not self._only_one_of_kind(filed):
            draft.ask("the item was not named", Candidate(item=filed.item))
        if filed.source == "stem" and _LABELS & set(heard.norms(0, quantity.start)):
            # "Work order number is that blade three four" was a number of eights.
            draft.ask("only its part was named", Candidate(item=filed.item), leads=False)
        measured = any(
            filed.item in m.keys and m.end < quantity.start and measured_by_verb(heard.tokens, m)
            for m in heard.mentions.of("item")
        )
        out = judge(filed.placing.value, self._items[filed.item]) != "within"
        if filed.source == "stem" and out and not (measured and filed.placing.plausible):
            draft.ask("only its part was named", Candidate(item=filed.item))

    def _only_one_of_kind(self, filed: Filed) -> bool:
        """Whether a unit leaves no other item, and the value is as it should be."""
        item = self._items[filed.item]
        same = [other for other in self._items.values() if other.measured_kind == item.measured_kind]
        unit = filed.quantity.unit
        # "Pounds" are left open; of what is told of here they are of its kind.
        said = unit is not None and (
            unit.unit is not None
            or unit.said == "degrees"
            or (unit.said == "pounds" and filed.item in self._told)
        )
        fitting = [other for other in same if self._could_be(filed, other)]
        one = len(same) == 1 or (len(fitting) == 1 and filed.item in self._told)
        return said and one and judge(filed.placing.value, item) == "within"

    def _could_be(self, filed: Filed, other: Item) -> bool:
        """Whether the value could be another item's of its kind."""
        value = convert(filed.placing.value, self._items[filed.item].unit, other.unit)
        return judge(value, other) != "outside" and is_plausible(float(value), span_of(other))

    def _doubt_value(
        self, draft: ReadingDraft, filed: Filed, rivals: Sequence[tuple[float, Filed]], context: TalkContext
    ) -> None:
        """Ask where the value is implausible, one of several said, or can be read otherwise."""
        item = self._items[filed.item]
        quantity = filed.quantity
        if quantity.others:
            offered = [filed.placing.value]
            for other in quantity.others:
                offered += [p.value for p in placings(other, item, self._sheet, filed.placing.carried)[:1]]
            reason = "a range was said" if quantity.span else "more than one value was said"
            draft.ask(reason, *(value_candidate(v, draft.unit) for v in offered), leads=False)
        if not filed.placing.plausible and quantity.value is not None:
            others = [
                p.value
                for p in placings(quantity, item, self._sheet, context.carried.get(filed.item))
                if p.plausible
            ]
            draft.ask(
                "not plausible for this item",
                *(value_candidate(v, draft.unit) for v in [*others, filed.placing.value]),
                leads=False,
            )
        if elsewhere := pointed_otherwise(filed, item, self._sheet, context.carried.get(filed.item)):
            offers = (value_candidate(value, draft.unit) for value in elsewhere)
            draft.ask("its point may stand elsewhere", *offers, leads=False)
        for behind, rival in rivals[1:]:
            draft.ask(
                "can be read in more than one way",
                _difference(filed, filed, rival, draft.unit),
                _difference(rival, filed, rival, self._items[rival.item].unit),
                leads=behind >= _LEADS,
                by_ear=True,
            )

    def _position_candidates(self, filed: Filed) -> list[Candidate]:
        if filed.position is not None:
            return []
        return [Candidate(position=position) for position in self._items[filed.item].positions]

    def is_limits(self, draft: ReadingDraft) -> bool:
        """Whether a range is just the item's own limits, recited."""
        span = span_of(self._items[draft.item])
        ends = sorted(c.value for c in draft.candidates if c.value is not None)
        limits = [limit for limit in (span.lower, span.upper) if limit is not None]
        ranged = draft.quantity is not None and draft.quantity.span and len(ends) == len(limits) == 2
        return ranged and all(
            abs(end - limit) <= span.tolerance for end, limit in zip(ends, limits, strict=True)
        )


def doubt_cut(heard: Heard, drafts: Sequence[ReadingDraft], unread: Sequence[Quantity]) -> None:
    """Ask where a number was left unread right beside a value: it may be part of it."""
    for draft in drafts:
        for quantity in unread:
            if quantity.start not in (draft.end, draft.start) and quantity.end != draft.start:
                continue
            # "Four one" may be four point one: behind a figure a "one" is no pronoun.
            figure = quantity.start == draft.end and heard.tokens[draft.end - 1].norm in ONES
            if figure or not counts_only(heard, quantity):
                draft.ask("a number right beside it was not understood", leads=False)
        # A name or a score that begins in the middle of figures is none.
        if any(i in heard.named and is_number_word(heard.tokens[i]) for i in (draft.start - 1, draft.end)):
            draft.ask("a number right beside it was not understood", leads=False)


def doubt_place(
    heard: Heard, filed: Sequence[Filed], drafts: Sequence[ReadingDraft], unread: Sequence[Quantity]
) -> None:
    """Ask where a value stands before its place and a number that nobody read stands right behind it."""
    for one, draft in zip(filed, drafts, strict=True):
        if not one.quantity.start < one.position_at:
            continue
        if any(0 <= q.start - one.position_at <= 2 and not counts_only(heard, q) for q in unread):
            draft.ask("a number right behind the place was not understood", leads=False)


def doubt_twice(heard: Heard, drafts: list[ReadingDraft], correcting: bool) -> None:
    """Ask where two values were given for one place in one breath and nothing said which one holds."""
    if correcting or _IN_TURN & set(heard.norms(0, len(heard.tokens))):
        return
    again = [m.start for m in heard.mentions.cues("again")]
    for draft in list(drafts):
        twins = [
            d
            for d in drafts[: drafts.index(draft)]
            if d.place() == draft.place() and d.stage == draft.stage and d.value is not None
        ]
        if not twins or draft.value is None or twins[-1].value == draft.value:
            continue
        if any(at >= twins[-1].end for at in again):
            # "Two, again two and a half"; a "now" that opens the talk measures nothing again.
            continue
        if _said_closer(heard, twins[-1], draft):
            drafts.remove(twins[-1])
            continue
        offered = [value_candidate(d.value, d.unit) for d in (twins[-1], draft) if d.value is not None]
        for doubtful in (*twins, draft):
            doubtful.ask("two values in one breath", *offered)


def _said_closer(heard: Heard, first: ReadingDraft, second: ReadingDraft) -> bool:
    """Whether a rough value is said closer at once ("three and a bit, three point one")."""
    if first.quantity is None or not first.quantity.approximate or second.quantity is None:
        return False
    if second.quantity.approximate or first.value is None or second.value is None:
        return False
    close = abs(first.value - second.value) <= _CLOSER * abs(second.value)
    return close and set(heard.norms(first.end, second.start)) <= _CLOSING


def _only_another_hedged(heard: Heard, clause: Clause, quantity: Quantity) -> bool:
    """Whether only a value that is named behind this one is hedged ("ten psi, drop somewhere around two")."""
    cues = [cue for cue in heard.mentions.cues("hedge") if clause.holds(cue)]
    named = heard.mentions.of("item", "position")
    return bool(cues) and all(
        longest_quantity(heard.tokens, cue.end) is not None
        and any(quantity.end <= m.start and m.end <= cue.start for m in named)
        for cue in cues
    )


def _named_oddly(heard: Heard, filed: Filed, own: Collection[str]) -> bool:
    """Whether only the tail of the item's name was said, behind a word that is not of it ("rocker bolts")."""
    named = [m for m in heard.mentions.of("item") if filed.item in m.keys and m.start < filed.quantity.start]
    if not named or not TAIL <= named[-1].cost < STEM or named[-1].start == 0:
        return False
    at = named[-1].start - 1
    word = heard.tokens[at].norm
    known = (
        (word in _GLUE and word not in _NO_LEADS) or word in _TAIL_LEADS or is_number_word(heard.tokens[at])
    )
    part = word.removesuffix("s") not in own and heard.norms(at + 1, at + 2) != ["'s"]
    covered = any(
        m.start <= at < m.end and m.kind != "other_part" and not (m.kind == "part" and part)
        for m in heard.mentions.all
    )
    return word.isalpha() and len(word) > 2 and not known and not covered


def _rule(filed: Filed) -> str:
    named = {
        "said": "item said",
        "loose": "item said",
        "context": "item carried on from before",
        "earlier": "item of an earlier reading, by its positions",
        "kind": "item by its kind of unit",
        "stem": "item by the part named",
    }[filed.source]
    where = {
        "named": "position named",
        "number": "position by its number",
        "group": "positions named together",
        "all": "all positions",
        "in_turn": "positions in turn",
        "unknown": "unknown position",
        "context": "position carried on from before",
    }.get(filed.position_style)
    return "; ".join(part for part in (f"reading: {named}", where, filed.placing.how) if part)


def _repairs(heard: Heard, filed: Filed) -> list[str]:
    """Return the mended words of the names that the reading stands on."""
    return [
        repair
        for mention in heard.mentions.of("item", "position")
        if mention.repairs
        and filed.item in (*mention.keys, filed.item)
        and abs(mention.start - filed.quantity.start) < 12
        for repair in mention.repairs
    ]


def _difference(which: Filed, best: Filed, rival: Filed, unit: str) -> Candidate:
    """Return a candidate that says where two readings of the same words part."""
    candidate = Candidate(words=None)
    if best.item != rival.item:
        candidate.item = which.item
    if best.position != rival.position:
        candidate.position = which.position
    if best.placing.value != rival.placing.value:
        valued = value_candidate(which.placing.value, unit)
        candidate.value, candidate.value_exact, candidate.unit = valued.value, valued.value_exact, valued.unit
    return candidate


def _begins_with_place(heard: Heard, filed: Filed, places: Sequence[str]) -> bool:
    """Whether a value given to its place by turn begins with the place's own number ("… four seventeen")."""
    first = str(ONES.get(heard.tokens[filed.quantity.start].norm))
    run_on = filed.quantity.number.style == "juxtaposed" and first in places
    return filed.quantity.end - filed.quantity.start > 1 and (first == filed.position or run_on)
