"""Readings out of one utterance: items, positions and values found, doubts named, corrections tied.

The search proposes; what may stand, what becomes a question and what is no reading at all is
decided here with the rooms beside it. No doubtful number leaves as a sure one.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.acceptance import may_stand
from extract.brought_back import bring_back
from extract.corrections import Run, runs_of, said_of_place, says_instead, says_wrong
from extract.governing_words import doubt_strange_words
from extract.heard import Heard
from extract.item_order import named_in, named_last, of_unknown
from extract.item_words import names_item
from extract.loose_numbers import barred_loose, counts_only, leave_unread, loose_number
from extract.measured_again import (
    MeasuredAgain,
    doubt_after_shims,
    doubt_contest,
    measured_anew,
    moved,
    once_more,
)
from extract.misheard_values import doubt_misheard
from extract.named_behind import with_item_behind
from extract.nth_reading import tie_nth
from extract.observer import NOBODY, Observer
from extract.passing_values import doubt_together, drop_former, drop_steps
from extract.pipeline import TalkPipeline
from extract.position_twins import PositionTwins, note_repairs
from extract.reading_corrections import (
    Earlier,
    ReadingCorrections,
    Reference,
    reference_of,
    wrong_values,
)
from extract.reading_doubts import ReadingDoubts, doubt_cut, doubt_place, doubt_twice
from extract.reading_drafts import ReadingTalk
from extract.reading_leftovers import (
    doubt_bare_replacing,
    doubt_fraction,
    doubt_rest,
    doubt_unused_place,
    drop_said_twice,
    tie_taken_back,
)
from extract.reading_search import ReadingSearch
from extract.repeated_values import doubt_repeated
from extract.search_board import Board
from extract.search_states import Filed, Found, Outset, sure_of
from extract.sheet_phrases import WEAK, item_forms, item_parts
from extract.stage_twins import by_stage, named_twin
from extract.stages import one_stage, phase_of
from extract.swapped import around_swap, doubt_place_before, swap_said, swap_values
from extract.talk_context import TalkContext
from extract.unsure_hearing import doubt_unsure
from extract.value_doubts import doubt_values
from extract.which_one import WHICH_ONE
from extract.word_confidence import WordConfidence
from extract.word_sets import word_set
from shared.job_sheet import JobSheet

#: A rival within so much cost makes a question.
_MARGIN = 0.75
_CORRECTING = 0.1
_MEASURING = word_set("readings.measuring")


class ReadingRoom:
    """Reads readings against one sheet."""

    def __init__(self, sheet: JobSheet, pipeline: TalkPipeline, confidence_least: float) -> None:
        self._sheet = sheet
        self._items = sheet.measured
        self._twins = PositionTwins(sheet, pipeline)
        self._search = ReadingSearch(sheet)
        self._doubts = ReadingDoubts(sheet, confidence_least)
        self._corrections = ReadingCorrections(sheet)
        self._again = MeasuredAgain(sheet)
        self._parts = item_parts(sheet)
        self._item_words: dict[str, frozenset[str]] = {}

    def read(
        self, heard: Heard, context: TalkContext, earlier: Earlier, observer: Observer = NOBODY
    ) -> ReadingTalk:
        """Read one utterance; ``context`` moves on with what it names."""
        talk = ReadingTalk()
        heard, repaired = self._twins.put_right(heard, context.outset())
        self._observer = observer
        self._earlier = earlier
        self._asked_last = context.asked_last
        self._loose_positions: list[str] = []
        sure = WordConfidence(heard.utterance, heard.tokens)
        self._by_places(heard, context)
        wrong_said = says_wrong(heard) or says_instead(heard)
        swap = swap_said(self._sheet, heard)
        for run in around_swap(runs_of(heard), swap):
            # "Shim pack is no thirty nine": an item just named, still without a value, is what the
            # number is of ("now" misheard); it cannot correct what was read before of another item.
            named_anew = talk.about_item and not talk.drafts and not run.goes_back
            if (
                named_anew
                and context.item is not None
                and run.cue in ("actually", "no actually", "actually no")
            ):
                # "Rod bend's actually eight" puts right what stands there.
                named_anew = earlier.standing_reading(context.item, context.position) is None
            correcting = (run.corrects and not named_anew) or (wrong_said and not talk.drafts)
            if correcting and talk.loose and not talk.drafts and of_unknown(heard, talk.loose[-1].start):
                # "Foundation bolts two ten, sorry, two twenty": what is put right was no reading.
                continue
            if correcting and context.unread_last and not talk.drafts and not named_in(heard, run.end):
                # "Foundation bolts two ten" … "sorry, two twenty": the same, in two breaths.
                leave_unread(heard, run, talk)
                continue
            self._read_run(heard, run, correcting, context, earlier, talk, sure)
        note_repairs(talk.drafts, repaired)
        if swap is not None:
            swap_values(self._sheet, heard, swap, talk, earlier)
        doubt_place_before(heard, talk, earlier)
        context.unread_last = bool(talk.loose) and not talk.drafts
        drop_said_twice(heard, talk.drafts)
        one_stage(heard, talk.drafts, self._items)
        tie_taken_back(heard, talk.drafts, earlier)
        doubt_bare_replacing(heard, talk.drafts, earlier, self._names_beside)
        observer.doubted("what it replaces", talk.drafts)
        doubt_unused_place(heard, talk.drafts, self._items)
        doubt_rest(heard, talk.drafts)
        observer.doubted("words that the reading leaves over", talk.drafts)
        doubt_values(heard, talk, self._items)
        observer.doubted("what is said of the value", talk.drafts)
        doubt_misheard(heard, talk.drafts, self._items)
        observer.doubted("what the ear is likely to have misheard", talk.drafts)
        doubt_strange_words(heard, talk.drafts, self._names_beside)
        observer.doubted("words beside the value that nobody understands", talk.drafts)
        doubt_unsure(heard, talk.drafts, self._items)
        observer.doubted("how sure the hearing is", talk.drafts)
        doubt_together(heard, talk.drafts, self._items)
        doubt_repeated(heard, talk.drafts, context)
        if phase_of(heard) is not None and _MEASURING & set(heard.norms(0, len(heard.tokens))):
            # "Before open i measure first" tells the stage of what follows.
            talk.about_item = True
        talk.loose = barred_loose(heard) + talk.loose
        talk.loose.sort(key=lambda number: number.start)
        return talk

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
        if said_of_place(heard) or not self._has_values(heard, board, run):
            right_to_come = run.end < len(heard.tokens) and wrong_values(heard)
            if correcting and not run.goes_back and not right_to_come:
                self._corrections.moved(heard, run, context, earlier, talk)
            elif not correcting:
                self._corrections.positioned(heard, run, earlier, talk)
            self._named_only(heard, run, context, talk)
            return
        reference = reference_of(talk, earlier) if correcting else None
        if (
            correcting
            and talk.about_item
            and not talk.drafts
            and not run.goes_back
            and context.item is not None
        ):
            # An item just named is what is put right, whatever was read last.
            reference = earlier.standing_reading(context.item, context.position) or reference
        reference = self._corrections.of_wrong_value(heard, reference, earlier)
        contest = None if correcting else self._again.back(heard, run, context, earlier)
        outset = self._outset(heard, context, run, reference)
        if not correcting:
            outset = once_more(heard, run, context, earlier, outset)
            outset = with_item_behind(heard, board, outset, self._items)
        ways = self._search.ways(heard.tokens, board, outset, self._observer is not NOBODY)
        best = by_stage(heard, ways[0], self._items, context)
        rivals = [
            [(0.0, filed), *group[1:]]
            for filed, group in zip(best.filed, sure_of(ways, _MARGIN), strict=True)
        ]
        accepted = self._accepted(heard, run, best, rivals, outset)
        if not accepted:
            if not correcting:
                self._corrections.positioned(heard, run, earlier, talk)
            elif run.end >= len(heard.tokens) and not (run.goes_back or best.filed or best.unfiled):
                # "Sorry, that was vane four": the number is the place's.
                self._corrections.moved(heard, run, context, earlier, talk)
            if talk.drafts:
                return
        drafts = [
            self._doubts.draft(heard, filed, group, context, sure)
            for filed, group in zip(best.filed, rivals, strict=True)
            if filed in accepted
        ]
        for quantity in best.unfiled:
            if counts_only(heard, quantity):
                continue
            talk.loose.append(loose_number(heard, quantity, "belongs to no item of the sheet"))
        for filed in best.filed:
            if filed not in accepted:
                talk.loose.append(loose_number(heard, filed.quantity, "nothing said what it measures"))
        self._observer.ways(heard, run, board, [best, *ways[1:]], accepted)
        self._observer.doubted("the value, its item and how it was heard", drafts)
        doubt_contest(heard, drafts, contest)
        doubt_after_shims(heard, drafts, accepted, earlier)
        doubt_place(heard, [f for f in best.filed if f in accepted], drafts, best.unfiled)
        if run.unsaid:
            for draft in drafts:
                draft.ask("what it puts right was not said", leads=False)
        elif (correcting and not measured_anew(heard, run, talk)) or run.settles:
            self._corrections.tie(drafts, run, talk, reference, earlier)
            self._corrections.at_wrong_stage(heard, drafts, earlier)
            self._corrections.doubt_wrong_value(heard, drafts, earlier)
            tie_nth(heard, run, drafts, earlier)
        for draft in [d for d in drafts if self._doubts.is_limits(d)]:
            drafts.remove(draft)
            if draft.quantity is not None:
                talk.loose.append(loose_number(heard, draft.quantity, "the limits recited"))
        drop_steps(heard, drafts, talk.loose, self._items)
        drop_former(heard, drafts, talk.loose)
        doubt_twice(heard, drafts, correcting or run.settles)
        doubt_cut(heard, drafts, best.unfiled)
        unread = [*best.unfiled, *(f.quantity for f in best.filed if f not in accepted)]
        doubt_fraction(heard, drafts, unread)
        self._observer.doubted("what it puts right, and numbers beside it", drafts)
        talk.drafts += drafts
        self._move_on(best, accepted, heard, run, context, talk)

    def _by_places(self, heard: Heard, context: TalkContext) -> None:
        """Talk of the one item that has a place named in full, where none is named ("vane one seventeen")."""
        named = [m for m in heard.mentions.of("position") if m.cost < WEAK and m.end - m.start > 1]
        known = [self._items[item] for item in (context.item, *context.earlier) if item is not None]
        if not named or heard.mentions.of("item"):
            return
        keys = {key for m in named for key in m.keys}
        if not any(keys & set(item.positions) for item in known):
            owners = [name for name, item in self._items.items() if keys <= set(item.positions)]
            if len(owners) == 1:
                context.name_item(owners[0])

    def _has_values(self, heard: Heard, board: Board, run: Run) -> bool:
        """Whether a run holds a number that is no place's name, or "the same again"."""
        named = {
            i for m in heard.mentions.of("position") if m.cost < WEAK for i in range(m.start, m.end)
        } if says_instead(heard) or says_wrong(heard) else set()  # fmt: skip
        return any(
            (board.quantities_at(i) and not board.is_barred(i) and i not in named) or board.same_at(i)
            for i in range(run.start, run.end)
        )

    def _outset(self, heard: Heard, context: TalkContext, run: Run, reference: Reference | None) -> Outset:
        """Return what a run goes on from: the value to be corrected, else what the talk is about."""
        brought_back = bring_back(heard, run, context, self._earlier, self._items, self._loose_positions)
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
        return Outset(
            reference.item,
            position,
            carried,
            context.last,
            _CORRECTING,
            context.earlier,
            context.last_positions,
            context.known,
            True,
        )

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
            or may_stand(
                heard,
                run,
                filed,
                group,
                self._words_of_item(filed.item) | WHICH_ONE,
                self._parts.get(filed.item),
                self._items[filed.item].measured_kind,
                self._asked_last,
            )
        ]

    def _names_beside(self, item: str) -> frozenset[str]:
        """Return the words of an item's names and of its places."""
        places = self._items[item].positions
        said = (form for place in places for form in self._sheet.positions.get(place, ()))
        return self._words_of_item(item) | {word for form in said for word in form.lower().split()}

    def _words_of_item(self, item: str) -> frozenset[str]:
        """Return the words that an item is called by; saying one of them is talking of it."""
        if item not in self._item_words:
            forms = item_forms(self._sheet)[item]
            self._item_words[item] = frozenset(word for form in forms for word in form.split())
        return self._item_words[item]

    def _named_only(self, heard: Heard, run: Run, context: TalkContext, talk: ReadingTalk) -> None:
        """Move the talk to an item or position that is named without a value."""
        for mention in sorted(heard.mentions.of("item", "position"), key=lambda m: m.start):
            if not run.start <= mention.start < run.end:
                continue
            if mention.kind == "item" and not names_item(heard.tokens, mention, heard.mentions):
                continue
            if mention.kind == "item":
                key = context.item if context.item in mention.keys else mention.key
                if key is not None and (len(mention.keys) == 1 or context.item in mention.keys):
                    talk.about_item = talk.about_item or mention.cost < 1
                    twin = named_twin(heard, key, self._items)
                    context.name_item(twin, weakly=mention.cost >= 1, moved=moved(heard, mention))
                    stage = phase_of(heard)
                    context.announced = (twin, stage, heard.number) if stage is not None else None
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
            if filed.position is not None:
                context.last_positions[filed.item] = filed.position
                context.known[filed.item, filed.position] = filed.quantity
            if filed.placing.carried is not None:
                context.carried[filed.item] = filed.placing.carried
            if filed.quantity.value is not None:
                context.last = filed.quantity
        if accepted:
            talk.about_item = True
        if (
            best.item is not None
            and best.item != context.item
            and (not accepted or named_last(heard, best.item))
        ):
            named = [m for m in heard.mentions.of("item") if best.item in m.keys]
            context.name_item(best.item, moved=any(moved(heard, m) for m in named))
            talk.about_item = True
        if best.position is not None:
            self._loose_positions.append(best.position)
        if (
            best.position is not None
            and context.item is not None
            and best.position in self._items[context.item].positions
        ):
            context.name_position(best.position)
