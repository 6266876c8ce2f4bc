"""Readings put right: which earlier one a value corrects, and values whose place or unit was wrong."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Protocol

from extract.bench_words import strange_words
from extract.corrections import Run, said_of_place
from extract.heard import Heard
from extract.placings import is_plausible, placings, span_of
from extract.quantity_arcs import Quantity, quantities_at
from extract.reading_drafts import ReadingDraft, ReadingTalk, value_candidate
from extract.spoken_units import UnitName, unit_names_at
from extract.swapped import Stood
from extract.talk_context import TalkContext
from shared.job_sheet import JobSheet
from shared.record import Candidate, ReadingEntry, Stage
from shared.units import UNITS, convert, same_kind

#: Doubts about what a value measures; another value of it lifts none of them.
_OF_ITEM = frozenset(
    {
        "its name was not quite understood",
        "the item was not named",
        "only its part was named",
        "position not heard",
    }
)
_LEADING = frozenset({"the", "a", "on", "at", "in", "of", "my", "that", "this"})
Reference = ReadingDraft | ReadingEntry
"""What a correction may be about: a draft of the same breath or an entry of before."""


_STAGES: tuple[Stage, ...] = ("as_found", "as_left", "either")


class Earlier(Stood, Protocol):
    """What the readings room asks of what was filed before."""

    def standing_reading(
        self, item: str, position: str | None, stage: str | None = None
    ) -> ReadingEntry | None:
        """Return the reading that stands there."""

    def last_reading(self) -> ReadingEntry | None:
        """Return the reading filed last, if it was lately."""

    def reading_quantity(self, entry_id: str) -> Quantity | None:
        """Return the spoken quantity of a reading."""


class ReadingCorrections:
    """Ties corrections to what they correct, against one sheet."""

    def __init__(self, sheet: JobSheet) -> None:
        self._sheet = sheet
        self._items = sheet.measured

    def tie(
        self,
        drafts: list[ReadingDraft],
        run: Run,
        talk: ReadingTalk,
        reference: Reference | None,
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
                _keep_doubts(draft, same_breath[-1])
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

    def of_wrong_value(self, heard: Heard, reference: Reference | None, earlier: Earlier) -> Reference | None:
        """Return the reading that had the value said to be wrong ("i called out ten, it was nine").

        The reading that a correction is about by itself, where it had that value or none had.
        """
        wrong = wrong_values(heard)
        if not wrong or reference is None or isinstance(reference, ReadingDraft):
            return reference
        if self._had(reference, wrong):
            return reference
        item = self._items[reference.item]
        places: list[str | None] = [*item.positions] or [None]
        others = [earlier.standing_reading(item.item, place) for place in places]
        had = [entry for entry in others if entry is not None and self._had(entry, wrong)]
        return had[0] if len(had) == 1 else reference

    def at_wrong_stage(self, heard: Heard, drafts: Sequence[ReadingDraft], earlier: Earlier) -> None:
        """Go over to the reading at the other stage where that had the value said to be wrong.

        "Vane two was thirty one, not thirty", said when it stands at sixteen by now.
        """
        wrong = _denied(heard)
        for draft in drafts:
            entry = earlier.standing_reading(draft.item, draft.position, draft.stage)
            if not wrong or draft.corrects is None or draft.corrects.startswith("draft:"):
                continue
            if entry is not None and self._had(entry, wrong):
                continue
            others = [earlier.standing_reading(draft.item, draft.position, stage) for stage in _STAGES]
            had = [other for other in others if other is not None and self._had(other, wrong)]
            if len(had) == 1:
                draft.corrects, draft.stage = had[0].id, had[0].stage

    def doubt_wrong_value(self, heard: Heard, drafts: Sequence[ReadingDraft], earlier: Earlier) -> None:
        """Ask where it was not said which place had the wrong value, and the one talked about had not."""
        wrong = wrong_values(heard)
        for draft in drafts:
            entry = earlier.standing_reading(draft.item, draft.position, draft.stage)
            placed = any(draft.position in m.keys for m in heard.mentions.of("position"))
            if not wrong or entry is None or draft.position is None or placed or draft.value is None:
                continue
            if not self._had(entry, wrong):
                draft.ask("the value said to be wrong was not read there", leads=False)

    def _had(self, entry: ReadingEntry, wrong: Sequence[Quantity]) -> bool:
        """Whether a reading had one of the values, or may have had it."""
        item = self._items[entry.item]
        values = {p.value for quantity in wrong for p in placings(quantity, item, self._sheet, None)}
        known = {entry.value_exact, *(c.value_exact for c in entry.candidates)}
        return any(Fraction(text) in values for text in known if text is not None)

    def _replaces(self, draft: ReadingDraft, reference: Reference, talk: ReadingTalk) -> bool:
        """Whether a value at another place means that the one before stood at the wrong place."""
        if isinstance(reference, ReadingDraft):
            return True
        same_value = (
            draft.value is not None
            and reference.value_exact is not None
            and Fraction(reference.value_exact) == draft.value
        )
        return same_value and draft.item == reference.item

    def _mend_decimals(self, draft: ReadingDraft, reference: Reference | None) -> None:
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

    def moved(
        self, heard: Heard, run: Run, context: TalkContext, earlier: Earlier, talk: ReadingTalk
    ) -> None:
        """File the value before anew where only its position, item or unit was put right."""
        reference = reference_of(talk, earlier)
        if reference is not None and (taken := said_of_place(heard)):
            # "Did i say north, that was east": the reading of the north is meant, whatever came last.
            keys = [key for m in heard.mentions.of("position") if m.start in taken for key in m.keys]
            stood = [earlier.standing_reading(reference.item, key) for key in keys]
            reference = next((entry for entry in stood if entry is not None), reference)
        value = _value_of(reference) if reference is not None else None
        if reference is None:
            return
        unit = self._unit_meant(heard, run)
        if unit is not None and same_kind(unit.unit or "", self._items[reference.item].unit):
            # "Zero point three inches, sorry, millimetres": the first need not have been plausible.
            self._reunited(heard, run, reference, unit, context, earlier, talk)
            return
        if value is None:
            return
        positions = [m for m in heard.mentions.of("position") if run.start <= m.start < run.end]
        denied = {i + 1 for i, t in enumerate(heard.tokens) if t.norm in ("not", "n't", "wasn't", "isn't")}
        denied |= said_of_place(heard)
        # "Not the upper one", but "not upper, lower" denies only the first.
        meant = [m for m in positions if not _is_denied(heard, m.start, denied)]
        item = self._items[reference.item]
        if (other := self._item_meant(heard, run, reference, denied)) is not None:
            there = [key for m in meant for key in m.keys if key in self._items[other].positions]
            place = there[-1] if there else reference.position
            held = place if place in self._items[other].positions else None
            if held is not None or not self._items[other].positions:
                self._refiled(
                    heard, run, reference, talk, value, position=held, rule="item put right", to=other
                )
            return
        right = [key for m in meant for key in m.keys if key in item.positions]
        # Where both are named without a "not", the last is what was meant.
        if right and right[-1] != reference.position and (not run.weak or len(positions) <= 2):
            self._refiled(heard, run, reference, talk, value, position=right[-1], rule="position put right")

    def _item_meant(self, heard: Heard, run: Run, reference: Reference, denied: set[int]) -> str | None:
        """Return the item that a value belongs to instead, None where none is named."""
        unit = self._items[reference.item].unit
        for mention in reversed(heard.mentions.of("item")):
            if (
                not run.start <= mention.start < run.end
                or mention.cost >= 1
                or _is_denied(heard, mention.start, denied)
            ):
                continue
            fitting = [
                k for k in mention.keys if k != reference.item and same_kind(self._items[k].unit, unit)
            ]
            if fitting and reference.item not in mention.keys:
                return fitting[0]
        return None

    def positioned(self, heard: Heard, run: Run, earlier: Earlier, talk: ReadingTalk) -> None:
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
        reference: Reference,
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
        if value == _value_of(reference):
            return
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
        reference: Reference,
        talk: ReadingTalk,
        value: Fraction,
        *,
        position: str | None,
        rule: str,
        said_unit: str | None = None,
        quantity: Quantity | None = None,
        to: str | None = None,
    ) -> None:
        item = self._items[to or reference.item]
        if to is not None:
            value = convert(value, self._items[reference.item].unit, item.unit)
        draft = ReadingDraft(
            item=item.item,
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


def _is_denied(heard: Heard, at: int, denied: set[int]) -> bool:
    """Whether what is named at a token is denied, an article or a preposition before it."""
    led = at and heard.tokens[at - 1].norm in _LEADING
    return at in denied or bool(led and at - 1 in denied)


def _keep_doubts(draft: ReadingDraft, before: ReadingDraft) -> None:
    """Go on asking what is measured, and where, if that was asked of the value put right.

    "Foundation bolts one twenty, sorry, one thirty": the second figure is no better known than the first.
    """
    for reason in before.reasons:
        if reason in _OF_ITEM or reason.startswith("no such position"):
            draft.ask(reason, Candidate(item=draft.item))


def _drop_settled(draft: ReadingDraft, talk: ReadingTalk) -> None:
    """Forget the approximate value that was settled on ("a bit under thirty, call it 29")."""
    for known in list(talk.drafts):
        if known.place() == draft.place() or (known.item == draft.item and draft.position is None):
            talk.drafts.remove(known)
            if draft.position is None and known.position is not None:
                draft.position = known.position
                draft.reasons = [r for r in draft.reasons if r != "position not heard"]


def _value_of(reference: Reference) -> Fraction | None:
    if isinstance(reference, ReadingDraft):
        return reference.value
    return None if reference.value_exact is None else Fraction(reference.value_exact)


def _name_of(reference: Reference, talk: ReadingTalk) -> str:
    return reference.id if isinstance(reference, ReadingEntry) else f"draft:{talk.drafts.index(reference)}"


def wrong_values(heard: Heard) -> list[Quantity]:
    """Return the values that are said to be wrong, and to have been said."""
    said = [m.end for m in heard.mentions.cues("wrong_said")]
    return [quantity for quantity in _denied(heard) if any(end <= quantity.start for end in said)]


def _denied(heard: Heard) -> list[Quantity]:
    """Return the values that are denied ("thirty one, not thirty")."""
    return [barred.quantity for barred in heard.barred if barred.reason == "said to be wrong"]


def reference_of(talk: ReadingTalk, earlier: Earlier) -> Reference | None:
    """Return what a correction is about: the last value of the breath, else the one filed last."""
    return talk.drafts[-1] if talk.drafts else earlier.last_reading()
