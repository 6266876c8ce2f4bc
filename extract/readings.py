"""Readings out of one utterance: items, positions and values found, doubts named, corrections tied.

The search proposes; this room decides what may stand, what becomes a question and what is no
reading at all. No doubtful number leaves it as a sure one.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from typing import Protocol

from extract.acceptance import may_stand
from extract.bench_words import strange_words
from extract.conformity import judge
from extract.confusable_numbers import figures_of, misheard_words
from extract.corrections import Run, runs_of, says_wrong
from extract.heard import Heard
from extract.numbers import is_number_word
from extract.placings import Span, is_plausible, placings, span_of
from extract.quantity_arcs import Quantity, quantities_at
from extract.reading_drafts import LooseNumber, ReadingDraft, value_candidate
from extract.reading_search import Filed, Found, Outset, ReadingSearch, sure_of
from extract.search_board import Board
from extract.sheet_phrases import STEM, WEAK, item_forms
from extract.spoken_units import UnitName, unit_names_at
from extract.stages import stage_of
from extract.talk_context import TalkContext
from extract.tokens import tokenize
from extract.word_confidence import WordConfidence
from shared.job_sheet import JobSheet
from shared.record import Candidate, ReadingEntry
from shared.units import UNITS, convert, same_kind

#: A rival within so much cost makes a question.
_MARGIN = 0.75
#: A value leads its rivals by at least so much.
_LEADS = 0.5
_CORRECTING = 0.1
_CONFUSABLE_CONFIDENCE = 0.8


class Earlier(Protocol):
    """What the readings room asks of what was filed before."""

    def standing_reading(
        self, item: str, position: str | None, stage: str | None = None
    ) -> ReadingEntry | None:
        """Return the reading that stands there."""

    def last_reading(self) -> ReadingEntry | None:
        """Return the reading filed last, if it was lately."""

    def reading_quantity(self, entry_id: str) -> Quantity | None:
        """Return the spoken quantity of a reading."""


@dataclass
class ReadingTalk:
    """What an utterance gave."""

    drafts: list[ReadingDraft] = field(default_factory=list)
    loose: list[LooseNumber] = field(default_factory=list)
    about_item: bool = False
    """Whether it names an item or a position of the item talked about."""


class ReadingRoom:
    """Reads readings against one sheet."""

    def __init__(self, sheet: JobSheet, confidence_least: float) -> None:
        self._sheet = sheet
        self._items = sheet.measured
        self._search = ReadingSearch(sheet)
        self._confidence_least = confidence_least
        self._item_words: dict[str, frozenset[str]] = {}

    def read(self, heard: Heard, context: TalkContext, earlier: Earlier) -> ReadingTalk:
        """Read one utterance; ``context`` moves on with what it names."""
        talk = ReadingTalk()
        self._earlier = earlier
        self._loose_positions: list[str] = []
        sure = WordConfidence(heard.utterance, heard.tokens)
        wrong_said = says_wrong(heard)
        for run in runs_of(heard):
            correcting = run.corrects or (wrong_said and not talk.drafts)
            self._read_run(heard, run, correcting, context, earlier, talk, sure)
        talk.loose = self._loose(heard, talk) + talk.loose
        talk.loose.sort(key=lambda number: number.start)
        return talk

    # -- one run of words ----------------------------------------------------------------------

    def _read_run(
        self,
        heard: Heard,
        run: Run,
        correcting: bool,
        context: TalkContext,
        earlier: Earlier,
        talk: ReadingTalk,
        sure: WordConfidence,
    ) -> None:
        board = Board(
            self._sheet,
            heard.tokens,
            heard.mentions,
            run.start,
            run.end,
            walls=heard.walls,
            counts=heard.counted,
        )
        if not any(
            board.quantities_at(i) and not board.is_barred(i) for i in range(run.start, run.end)
        ) and not any(board.same_at(i) for i in range(run.start, run.end)):
            if correcting and not run.goes_back:
                self._moved(heard, run, context, earlier, talk)
            elif not correcting:
                self._positioned(heard, run, earlier, talk)
            self._named_only(heard, run, context, talk)
            return
        reference = self._reference(talk, earlier) if correcting else None
        outset = self._outset(context, run, reference)
        ways = self._search.ways(heard.tokens, board, outset)
        best = ways[0]
        rivals = sure_of(ways, _MARGIN)
        accepted = self._accepted(heard, run, best, rivals, outset)
        if not accepted and not correcting:
            self._positioned(heard, run, earlier, talk)
            if talk.drafts:
                return
        drafts = [
            self._draft(heard, filed, group, context, sure)
            for filed, group in zip(best.filed, rivals, strict=True)
            if filed in accepted
        ]
        for quantity in best.unfiled:
            if _counts_only(heard, quantity):
                continue
            talk.loose.append(_loose_number(heard, quantity, "belongs to no item of the sheet"))
        for filed in best.filed:
            if filed not in accepted:
                talk.loose.append(_loose_number(heard, filed.quantity, "nothing said what it measures"))
        if correcting or run.settles:
            self._tie(drafts, run, talk, reference, earlier)
        drafts = self._without_limits(heard, drafts, talk)
        _doubt_twice(heard, drafts, correcting or run.settles)
        _doubt_cut(heard, drafts, best.unfiled)
        talk.drafts += drafts
        self._move_on(best, accepted, heard, run, context, talk)

    def _outset(
        self, context: TalkContext, run: Run, reference: ReadingDraft | ReadingEntry | None
    ) -> Outset:
        """Return what a run goes on from: the value to be corrected, else what the talk is about."""
        brought_back = self._bring_back(context)
        if brought_back is not None and run.corrects:
            reference = brought_back
        if reference is None or (run.goes_back and context.item is not None):
            return context.outset()
        position = (
            context.position
            if context.position is not None and context.position_age == 0
            else reference.position
        )
        carried = dict(context.carried)
        return Outset(reference.item, position, carried, context.last, _CORRECTING, context.earlier, True)

    def _bring_back(self, context: TalkContext) -> ReadingEntry | None:
        """Go back to the item whose position was just named, where the one talked about has no such position.

        Returns its standing reading there; "vane two is, actually, twenty one" is no test pressure.
        """
        if not self._loose_positions:
            return None
        position = self._loose_positions[-1]
        if context.item is not None and position in self._items[context.item].positions:
            return None
        for item in context.earlier:
            if position in self._items[item].positions:
                context.name_item(item)
                context.name_position(position)
                return self._earlier.standing_reading(item, position)
        return None

    @staticmethod
    def _reference(talk: ReadingTalk, earlier: Earlier) -> ReadingDraft | ReadingEntry | None:
        return talk.drafts[-1] if talk.drafts else earlier.last_reading()

    def _accepted(
        self,
        heard: Heard,
        run: Run,
        best: Found,
        rivals: Sequence[Sequence[tuple[float, Filed]]],
        outset: Outset,
    ) -> list[Filed]:
        """Drop values that only the context ties to an item where the words talk of something else."""
        return [
            filed
            for filed, group in zip(best.filed, rivals, strict=True)
            if filed.source in ("said", "loose")
            or outset.correcting
            or may_stand(heard, run, filed, group, self._words_of_item(filed.item))
        ]

    def _without_limits(
        self, heard: Heard, drafts: list[ReadingDraft], talk: ReadingTalk
    ) -> list[ReadingDraft]:
        """Take a range that is just the item's own limits for the limits recited."""
        kept = []
        for draft in drafts:
            span = span_of(self._items[draft.item])
            ends = sorted(c.value for c in draft.candidates if c.value is not None)
            limits = [limit for limit in (span.lower, span.upper) if limit is not None]
            ranged = draft.quantity is not None and draft.quantity.span and len(ends) == len(limits) == 2
            if ranged and all(
                abs(end - limit) <= span.tolerance for end, limit in zip(ends, limits, strict=True)
            ):
                assert draft.quantity is not None
                talk.loose.append(_loose_number(heard, draft.quantity, "the limits recited"))
                continue
            kept.append(draft)
        return kept

    def _words_of_item(self, item: str) -> frozenset[str]:
        """Return the words that an item is called by; saying one of them is talking of it."""
        if item not in self._item_words:
            forms = item_forms(self._sheet)[item]
            self._item_words[item] = frozenset(word for form in forms for word in form.split())
        return self._item_words[item]

    # -- one reading ---------------------------------------------------------------------------

    def _draft(
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
        draft = ReadingDraft(
            item=filed.item,
            position=filed.position,
            stage=stage_of(heard, quantity.start, item, context),
            value=filed.placing.value if quantity.value is not None else None,
            unit=item.unit,
            said_unit=filed.placing.said_unit,
            rule=_rule(filed),
            start=quantity.start,
            end=quantity.end,
            quantity=quantity,
            repairs=_repairs(heard, filed),
            confidence=min(sure.overall, sure.least(quantity.start, quantity.end)),
            known_again=bool(heard.mentions.cues("again")),
        )
        self._doubt_words(heard, draft, filed)
        self._doubt_value(draft, filed, rivals, context)
        self._doubt_hearing(heard, draft, filed, sure)
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
        if clause.hedged and not quantity.others:
            draft.ask("the speaker was not sure", value_candidate(filed.placing.value, draft.unit))
        if filed.source in ("context", "earlier") and _small_and_far(filed, span_of(self._items[filed.item])):
            draft.ask("far from the limits for a value said so short", leads=False)
        if {"rest", "others", "remaining", "remainder"} & set(heard.norms(0, len(heard.tokens))):
            draft.ask("something was said of the rest")
        if filed.source == "kind" and not self._only_one_of_kind(filed):
            draft.ask("the item was not named", Candidate(item=filed.item))
        if filed.source == "stem" and judge(filed.placing.value, self._items[filed.item]) != "within":
            draft.ask("only its part was named", Candidate(item=filed.item))

    def _only_one_of_kind(self, filed: Filed) -> bool:
        """Whether a unit leaves no other item, and the value is as it should be."""
        item = self._items[filed.item]
        same = [other for other in self._items.values() if other.measured_kind == item.measured_kind]
        said = filed.quantity.unit is not None and filed.quantity.unit.unit is not None
        return said and len(same) == 1 and judge(filed.placing.value, item) == "within"

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
        for behind, rival in rivals[1:]:
            draft.ask(
                "can be read in more than one way",
                _difference(filed, filed, rival, draft.unit),
                _difference(rival, filed, rival, self._items[rival.item].unit),
                leads=behind >= _LEADS,
            )

    def _doubt_hearing(self, heard: Heard, draft: ReadingDraft, filed: Filed, sure: WordConfidence) -> None:
        """Ask where the engine was not sure of the words, all the more of those easily misheard."""
        quantity = filed.quantity
        start = _with_position(heard, quantity.start)
        least = sure.least(start, quantity.end)
        if least < self._confidence_least:
            draft.ask("the words were not heard clearly", value_candidate(filed.placing.value, draft.unit))
        if min(least, sure.overall) < _CONFUSABLE_CONFIDENCE and quantity.value is not None:
            for value in self._misheard_values(heard, filed):
                draft.ask(
                    "two numbers that sound alike",
                    value_candidate(filed.placing.value, draft.unit),
                    value_candidate(value, draft.unit),
                    leads=least >= self._confidence_least,
                )

    def _misheard_values(self, heard: Heard, filed: Filed) -> list[Fraction]:
        """Return plausible values of the same words with one number word misheard."""
        quantity, item = filed.quantity, self._items[filed.item]
        values: list[Fraction] = []
        for at, word in misheard_words(heard.tokens, quantity.start, quantity.number_end):
            norms = [figures_of(word) if t.norm[0].isdecimal() else word for t in heard.tokens[at : at + 1]]
            pieces = [t.norm for t in heard.tokens[quantity.start : at]] + norms
            pieces += [t.norm for t in heard.tokens[at + 1 : quantity.end]]
            changed = tokenize(" ".join(pieces))
            for other in quantities_at(changed, 0):
                if other.end != len(changed):
                    continue
                placed = [p for p in placings(other, item, self._sheet, filed.placing.carried) if p.plausible]
                if placed and placed[0].value != filed.placing.value and placed[0].value not in values:
                    values.append(placed[0].value)
                break
        return values

    def _position_candidates(self, filed: Filed) -> list[Candidate]:
        if filed.position is not None:
            return []
        return [Candidate(position=position) for position in self._items[filed.item].positions]

    # -- corrections ---------------------------------------------------------------------------

    def _tie(
        self,
        drafts: list[ReadingDraft],
        run: Run,
        talk: ReadingTalk,
        reference: ReadingDraft | ReadingEntry | None,
        earlier: Earlier,
    ) -> None:
        """Tie corrected readings to what they put right."""
        for draft in drafts:
            if run.settles:
                _drop_settled(draft, talk)
                continue
            same_breath = [d for d in talk.drafts if d.place() == draft.place()]
            if same_breath:
                draft.corrects = f"draft:{talk.drafts.index(same_breath[-1])}"
            elif (entry := earlier.standing_reading(draft.item, draft.position, draft.stage)) is not None or (
                entry := earlier.standing_reading(draft.item, draft.position)
            ) is not None:
                draft.corrects = entry.id
            elif (
                reference is not None
                and not run.weak
                and not run.goes_back
                and self._replaces(draft, reference, talk)
            ):
                draft.corrects = _name_of(reference, talk)
            self._mend_decimals(draft, reference)

    def _replaces(
        self, draft: ReadingDraft, reference: ReadingDraft | ReadingEntry, talk: ReadingTalk
    ) -> bool:
        """Whether a value at another place means that the one before stood at the wrong place."""
        if isinstance(reference, ReadingDraft):
            return True
        same_value = (
            draft.value is not None
            and reference.value_exact is not None
            and Fraction(reference.value_exact) == draft.value
        )
        return same_value and draft.item == reference.item

    def _mend_decimals(self, draft: ReadingDraft, reference: ReadingDraft | ReadingEntry | None) -> None:
        """Read "159.51, no, sorry, point 53" as 159.53: only what stands after the point was wrong."""
        if (
            reference is None
            or draft.quantity is None
            or draft.quantity.value is None
            or reference.item != draft.item
        ):
            return
        number = draft.quantity.number
        before = _value_of(reference)
        part = draft.quantity.value
        if before is None or number.style != "decimal" or not 0 < part < 1 or before < 1:
            return
        span = span_of(self._items[draft.item])
        if is_plausible(float(part), span):
            return
        mended = Fraction(before.numerator // before.denominator) + part
        if is_plausible(float(mended), span):
            draft.value = mended
            draft.reasons = [r for r in draft.reasons if r != "not plausible for this item"]
            draft.candidates = [] if not draft.reasons else draft.candidates
            draft.rule += "; decimals put right"

    def _moved(
        self, heard: Heard, run: Run, context: TalkContext, earlier: Earlier, talk: ReadingTalk
    ) -> None:
        """File the value before anew where only its position, item or unit was put right."""
        reference = self._reference(talk, earlier)
        value = _value_of(reference) if reference is not None else None
        if reference is None or value is None:
            return
        positions = [m for m in heard.mentions.of("position") if run.start <= m.start < run.end]
        denied = {i + 1 for i, t in enumerate(heard.tokens) if t.norm == "not"}
        meant = [m for m in positions if not denied & {m.start, m.start - 1}]
        item = self._items[reference.item]
        unit = self._unit_meant(heard, run)
        if unit is not None and same_kind(unit.unit or "", item.unit):
            self._reunited(heard, run, reference, unit, context, earlier, talk)
            return
        right = [key for m in meant for key in m.keys if key in item.positions]
        # Where both are named without a "not", the last is what was meant.
        if right and right[-1] != reference.position and (not run.weak or len(positions) <= 2):
            self._refiled(heard, run, reference, talk, value, position=right[-1], rule="position put right")

    def _positioned(self, heard: Heard, run: Run, earlier: Earlier, talk: ReadingTalk) -> None:
        """Give the value before its position where that is said afterwards ("that's bore one")."""
        last = earlier.last_reading()
        longer = [q for i in range(run.start, run.end) for q in quantities_at(heard.tokens, i)]
        if any(q.unit is not None or q.end - q.start > 1 for q in longer):
            return
        if talk.drafts or last is None or last.position is not None or last.value_exact is None:
            return
        if heard.number - last.evidence.utterance != 1 or not self._items[last.item].positions:
            return
        named = {
            key
            for m in heard.mentions.of("position")
            for key in m.keys
            if key in self._items[last.item].positions
        }
        clause = heard.clause_at(run.start)
        if len(named) == 1 and clause.mood == "stated" and not strange_words(heard, run.start, run.end):
            value = Fraction(last.value_exact)
            self._refiled(
                heard, run, last, talk, value, position=named.pop(), rule="position said afterwards"
            )

    def _unit_meant(self, heard: Heard, run: Run) -> UnitName | None:
        """Return the unit that a correction names last and does not deny."""
        meant = None
        for i in range(run.start, run.end):
            names, end = unit_names_at(heard.tokens, i)
            if not names or names[0].foreign or names[0].unit is None or names[0].unit not in UNITS:
                continue
            if heard.tokens[i].norm in ("in", "off", "g", "c", "f", "s", "second", "minute"):
                continue
            if i and heard.tokens[i - 1].norm == "not":
                continue
            meant = names[0] if end <= run.end else meant
            if end < len(heard.tokens) and heard.tokens[end].norm == "not":
                return meant
        return meant

    def _reunited(
        self,
        heard: Heard,
        run: Run,
        reference: ReadingDraft | ReadingEntry,
        unit: UnitName,
        context: TalkContext,
        earlier: Earlier,
        talk: ReadingTalk,
    ) -> None:
        """Work a value out again in the unit that was meant."""
        quantity = (
            reference.quantity
            if isinstance(reference, ReadingDraft)
            else earlier.reading_quantity(reference.id)
        )
        if quantity is None or quantity.value is None or unit.unit is None:
            return
        item = self._items[reference.item]
        value = convert(quantity.value * unit.factor, unit.unit, item.unit)
        context.carried[item.item] = unit
        self._refiled(
            heard,
            run,
            reference,
            talk,
            value,
            position=reference.position,
            rule="unit put right",
            said_unit=unit.unit,
            quantity=replace(quantity, unit=unit),
        )

    def _refiled(
        self,
        heard: Heard,
        run: Run,
        reference: ReadingDraft | ReadingEntry,
        talk: ReadingTalk,
        value: Fraction,
        *,
        position: str | None,
        rule: str,
        said_unit: str | None = None,
        quantity: Quantity | None = None,
    ) -> None:
        item = self._items[reference.item]
        draft = ReadingDraft(
            item=reference.item,
            position=position,
            stage=reference.stage,
            value=value,
            unit=item.unit,
            said_unit=said_unit or reference.said_unit,
            rule=f"reading: {rule}",
            start=run.start,
            end=run.end,
            quantity=quantity,
            corrects=_name_of(reference, talk),
            confidence=heard.utterance.confidence,
        )
        if not is_plausible(float(value), span_of(item)):
            draft.ask("not plausible for this item", value_candidate(value, item.unit), leads=False)
        talk.drafts.append(draft)
        talk.about_item = True

    # -- what the talk is about ----------------------------------------------------------------

    def _named_only(self, heard: Heard, run: Run, context: TalkContext, talk: ReadingTalk) -> None:
        """Move the talk to an item or position that is named without a value."""
        for mention in sorted(heard.mentions.of("item", "position"), key=lambda m: m.start):
            if not run.start <= mention.start < run.end:
                continue
            if mention.kind == "item" and mention.cost >= STEM:
                continue
            if mention.kind == "item" and any(
                m.start == mention.start and m.end == mention.end for m in heard.mentions.of("consumable")
            ):
                continue
            if mention.kind == "item":
                key = context.item if context.item in mention.keys else mention.key
                if key is not None and (len(mention.keys) == 1 or context.item in mention.keys):
                    talk.about_item = talk.about_item or mention.cost < 1
                    context.name_item(key)
                continue
            item = self._items.get(context.item or "")
            if mention.cost >= WEAK:
                continue
            self._loose_positions.append(mention.key)
            held = [key for key in mention.keys if item is not None and key in item.positions]
            if held and heard.clause_at(mention.start).mood in ("stated", "future"):
                context.name_position(held[0])
                talk.about_item = True

    def _move_on(
        self,
        best: Found,
        accepted: list[Filed],
        heard: Heard,
        run: Run,
        context: TalkContext,
        talk: ReadingTalk,
    ) -> None:
        for filed in accepted:
            context.name_item(filed.item)
            context.name_position(None)
            if filed.placing.carried is not None:
                context.carried[filed.item] = filed.placing.carried
            if filed.quantity.value is not None:
                context.last = filed.quantity
        if accepted:
            talk.about_item = True
        if (
            best.item is not None
            and best.item != context.item
            and (not accepted or _named_last(heard, best.item))
        ):
            context.name_item(best.item)
            talk.about_item = True
        if best.position is not None:
            self._loose_positions.append(best.position)
        if (
            best.position is not None
            and context.item is not None
            and best.position in self._items[context.item].positions
        ):
            context.name_position(best.position)

    def _loose(self, heard: Heard, talk: ReadingTalk) -> list[LooseNumber]:
        return [
            _loose_number(heard, barred.quantity, barred.reason)
            for barred in heard.barred
            if not _counts_only(heard, barred.quantity)
        ]


def _doubt_cut(heard: Heard, drafts: Sequence[ReadingDraft], unread: Sequence[Quantity]) -> None:
    """Ask where a number was left unread right beside a value: it may be part of it."""
    for draft in drafts:
        for quantity in unread:
            if quantity.start not in (draft.end, draft.start) and quantity.end != draft.start:
                continue
            if not _counts_only(heard, quantity):
                draft.ask("a number right beside it was not understood", leads=False)


#: Words that say which of two values in one breath holds, or that both were passed through.
_IN_TURN = frozenset({"pass", "first", "final", "then", "started", "lap", "second", "last", "finally"})


def _doubt_twice(heard: Heard, drafts: Sequence[ReadingDraft], correcting: bool) -> None:
    """Ask where two values were given for one place in one breath and nothing said which one holds."""
    if correcting or heard.mentions.cues("again") or _IN_TURN & set(heard.norms(0, len(heard.tokens))):
        return
    for n, draft in enumerate(drafts):
        twins = [
            d
            for d in drafts[:n]
            if d.place() == draft.place() and d.stage == draft.stage and d.value is not None
        ]
        if not twins or draft.value is None or twins[-1].value == draft.value:
            continue
        offered = [value_candidate(d.value, d.unit) for d in (twins[-1], draft) if d.value is not None]
        for doubtful in (twins[-1], draft):
            doubtful.ask("two values in one breath", *offered)


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


def _loose_number(heard: Heard, quantity: Quantity, reason: str) -> LooseNumber:
    unit = quantity.unit
    value = quantity.value
    name = None
    if unit is not None and unit.unit is not None and value is not None:
        value, name = value * unit.factor, unit.unit
    return LooseNumber(
        heard.words(quantity.start, quantity.end), value, name, reason, quantity, quantity.start, quantity.end
    )


def _named_last(heard: Heard, item: str) -> bool:
    """Whether an item is named at the very end ("… drive end sixty, now the end float")."""
    return any(item in m.keys and len(heard.tokens) - m.end <= 2 for m in heard.mentions.of("item"))


def _small_and_far(filed: Filed, span: Span) -> bool:
    """Whether a single small figure makes a value well outside the limits: more likely a count or a name."""
    quantity = filed.quantity
    if quantity.unit is not None or quantity.value is None or not 0 < quantity.value < 10:
        return False
    if quantity.end - quantity.start != 1 or quantity.value.denominator != 1:
        return False
    value = float(filed.placing.value)
    below = span.lower is not None and span.lower > 0 and value < span.lower / 1.5
    return below or (span.upper is not None and value > span.upper * 1.5)


def _counts_only(heard: Heard, quantity: Quantity) -> bool:
    """Whether a number is a pronoun or a count of things, of no interest to a reviewer."""
    if quantity.unit is not None:
        return False
    if quantity.number.style in ("fraction", "article"):
        return True
    return quantity.start in heard.counted or heard.norms(quantity.start, quantity.end) == ["one"]


def _with_position(heard: Heard, start: int) -> int:
    """Return where a short position number before a value begins, so that its hearing counts too."""
    at = start
    while (
        at > 0
        and start - at < 3
        and (heard.tokens[at - 1].norm in ("is", "'s", "at") or is_number_word(heard.tokens[at - 1]))
    ):
        at -= 1
    return at


def _drop_settled(draft: ReadingDraft, talk: ReadingTalk) -> None:
    """Forget the approximate value that was settled on ("a bit under thirty, call it 29")."""
    for known in list(talk.drafts):
        if known.place() == draft.place() or (known.item == draft.item and draft.position is None):
            talk.drafts.remove(known)
            if draft.position is None and known.position is not None:
                draft.position = known.position
                draft.reasons = [r for r in draft.reasons if r != "position not heard"]


def _value_of(reference: ReadingDraft | ReadingEntry) -> Fraction | None:
    if isinstance(reference, ReadingDraft):
        return reference.value
    return None if reference.value_exact is None else Fraction(reference.value_exact)


def _name_of(reference: ReadingDraft | ReadingEntry, talk: ReadingTalk) -> str:
    return reference.id if isinstance(reference, ReadingEntry) else f"draft:{talk.drafts.index(reference)}"
