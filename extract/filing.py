"""Drafts become entries: ids, evidence, verdicts, and what they supersede."""

from __future__ import annotations

from collections.abc import Sequence

from extract.commands import Command
from extract.conformity import judge
from extract.entry_drafts import ConditionDraft, ConsumableDraft, NoteDraft, PartDraft, StepDraft
from extract.heard import Heard
from extract.leading_values import leading_value
from extract.ledger import Ledger
from extract.reading_drafts import LooseNumber, ReadingDraft
from extract.stale_values import unsettle_put_right
from extract.taken_back import Quoted, Told, taken_back
from extract.talk_context import TalkContext
from extract.unsettled import offer_both, unsettle_round, unsettles
from extract.utterance_findings import Findings
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    Entry,
    Evidence,
    NoteEntry,
    PartEntry,
    ReadingEntry,
    StepEntry,
    UnfiledNumber,
)
from shared.units import decimal_text

#: A condition or action is put right within so many utterances.
_LATELY = 2
#: Words that go back to what was said before.
_BEFORE = word_set("filing.before")


class Filing:
    """Files what an utterance gave."""

    def __init__(self, sheet: JobSheet, ledger: Ledger) -> None:
        self._sheet = sheet
        self._ledger = ledger

    def evidence(
        self, heard: Heard, rule: str, confidence: float | None = None, repairs: Sequence[str] = ()
    ) -> Evidence:
        """Return the evidence of something that an utterance gave."""
        spoken = heard.utterance
        sure = spoken.confidence if confidence is None else confidence
        return Evidence(
            recording=spoken.recording,
            utterance=heard.number,
            start_s=spoken.start_s,
            end_s=spoken.end_s,
            words=spoken.text,
            engine=spoken.engine,
            confidence=min(1.0, max(0.0, sure)),
            rule=rule,
            repairs=list(dict.fromkeys(repairs)),
        )

    def file(
        self,
        heard: Heard,
        findings: Findings,
        notes: Sequence[NoteDraft],
        context: TalkContext,
        striking: bool = False,
    ) -> list[tuple[int, Entry]]:
        """File all drafts of an utterance; return the entries, each with the token that it starts at.

        Args:
            striking: the utterance strikes what was said last, so that nothing else of it is put right.
        """
        filed: list[tuple[int, Entry]] = []
        readings: list[ReadingEntry] = []
        for draft in findings.readings:
            readings.append(self._file_reading(heard, draft, readings, context))
            filed.append((draft.start, readings[-1]))
        unsettle_round(heard, self._ledger, readings)
        putting_right = not striking and (
            bool(heard.mentions.cues("correction")) or any(c.start == 0 for c in heard.mentions.of("command"))
        )
        if striking:
            for part in findings.parts:
                part.goes_back = False
        filed += self._file_findings(heard, findings, putting_right)
        filed += self._file_consumables(heard, findings)
        if not striking and len(filed) == len(readings):
            unsettle_put_right(self._sheet, heard, self._ledger, readings, context)
        filed += [(d.start, self._file_step(heard, d)) for d in findings.steps]
        filed += [(d.start, self._file_note(heard, d)) for d in notes]
        return filed

    def _file_findings(
        self, heard: Heard, findings: Findings, putting_right: bool
    ) -> list[tuple[int, Entry]]:
        """File conditions and part actions; what the same breath takes back is superseded at once."""
        conditions = [(d, self._file_condition(heard, d, putting_right)) for d in findings.conditions]
        parts = [(d, self._file_part(heard, d, putting_right)) for d in findings.parts]
        told = [Told(d.start, d.part, d.condition) for d, _ in conditions]
        for wrong, right in taken_back(heard, told):
            self._ledger.supersede(conditions[wrong][1], conditions[right][1].id, "corrected")
        told = [Told(d.start, d.part, d.action) for d, _ in parts]
        for wrong, right in taken_back(heard, told):
            self._ledger.supersede(parts[wrong][1], parts[right][1].id, "corrected")
        filed: list[tuple[int, Entry]] = [(d.start, entry) for d, entry in conditions]
        filed += [(d.start, entry) for d, entry in parts]
        for quote in findings.quoted:
            self._put_right_what_was_said(quote, filed)
        return filed

    def _file_consumables(self, heard: Heard, findings: Findings) -> list[tuple[int, Entry]]:
        """File consumables; one that the same breath takes back is superseded at once."""
        used = [(d, self._file_consumable(heard, d)) for d in findings.consumables]
        told = [Told(d.start, d.applied_to or "", d.name) for d, _ in used]
        for wrong, right in taken_back(heard, told):
            self._ledger.supersede(used[wrong][1], used[right][1].id, "corrected")
        return [(d.start, entry) for d, entry in used]

    def _put_right_what_was_said(self, quote: Quoted, filed: Sequence[tuple[int, Entry]]) -> None:
        """Supersede what "I said …" quotes, however long ago it was said."""
        right = next((entry for start, entry in filed if start >= quote.start), None)
        if right is None:
            return
        for earlier in reversed(self._ledger.entries):
            if not isinstance(earlier, ConditionEntry | PartEntry) or earlier.id == right.id:
                continue
            key = earlier.condition if isinstance(earlier, ConditionEntry) else earlier.action
            if earlier.standing and key == quote.key and earlier.part in quote.parts:
                self._ledger.supersede(earlier, right.id, "corrected")
                return

    def _file_note(self, heard: Heard, draft: NoteDraft) -> NoteEntry:
        evidence = self.evidence(heard, draft.rule)
        entry = NoteEntry(id=self._ledger.new_id("n"), evidence=evidence, text=draft.text)
        entry.needs_review, entry.reason = bool(draft.doubt), draft.doubt or None
        self._ledger.file(entry)
        return entry

    def unfiled(self, heard: Heard, loose: Sequence[LooseNumber]) -> list[UnfiledNumber]:
        """Return the numbers of an utterance that made no reading."""
        return [
            UnfiledNumber(
                words=number.words,
                value=None if number.value is None else float(decimal_text(number.value)),
                unit=number.unit,
                reason=number.reason,
                evidence=self.evidence(heard, f"number not filed: {number.reason}"),
            )
            for number in loose
        ]

    # -- readings ------------------------------------------------------------------------------

    def _file_reading(
        self, heard: Heard, draft: ReadingDraft, filed: Sequence[ReadingEntry], context: TalkContext
    ) -> ReadingEntry:
        item = self._sheet.measured[draft.item]
        self._keep_stage(heard, draft, filed)
        value = leading_value(heard, draft, item)
        exact = None if value is None else decimal_text(value)
        sure = draft.sure and draft.value is not None
        entry = ReadingEntry(
            id=self._ledger.new_id("r"),
            evidence=self.evidence(heard, draft.rule, draft.confidence, draft.repairs),
            item=draft.item,
            position=draft.position,
            stage=draft.stage,
            value=None if exact is None else float(exact),
            value_exact=exact,
            unit=draft.unit,
            said_unit=draft.said_unit,
            verdict=judge(draft.value, item) if sure and draft.value is not None else "undecided",
            gauge=context.gauge.get(item.gauge or ""),
            needs_review=not sure,
            reason="; ".join(draft.reasons) or None,
            candidates=draft.candidates,
        )
        self._replace_reading(heard, draft, entry, filed)
        self._ledger.file(entry, draft.quantity)
        return entry

    def _keep_stage(self, heard: Heard, draft: ReadingDraft, filed: Sequence[ReadingEntry]) -> None:
        """Leave what puts an earlier value right at the stage of that one, where the words tell of none."""
        wrong = self._corrected(heard, draft, filed)
        if wrong is not None and not heard.mentions.cues("as_found", "as_left", "coming_out", "going_in"):
            draft.stage = wrong.stage

    def _replace_reading(
        self, heard: Heard, draft: ReadingDraft, entry: ReadingEntry, filed: Sequence[ReadingEntry]
    ) -> None:
        """Supersede what the reading puts right, and what stood at its place."""
        corrected = self._corrected(heard, draft, filed)
        if corrected is not None and corrected.standing:
            self._ledger.supersede(corrected, entry.id, "corrected")
        standing = self._ledger.standing_reading(entry.item, entry.position, entry.stage)
        if standing is None:
            return
        if entry.needs_review and not standing.needs_review and draft.corrects is None:
            if not unsettles(draft, entry, standing):
                return
            offer_both(entry, standing)
        self._ledger.supersede(standing, entry.id, "measured_again")

    def _corrected(
        self, heard: Heard, draft: ReadingDraft, filed: Sequence[ReadingEntry]
    ) -> ReadingEntry | None:
        if draft.corrects is None:
            return None
        if draft.corrects.startswith("draft:"):
            at = int(draft.corrects.removeprefix("draft:"))
            return filed[at] if at < len(filed) else None
        found = self._ledger.entry(draft.corrects)
        if not isinstance(found, ReadingEntry):
            return None
        if found.stage != draft.stage and (filed or not _of_before(heard)):
            # "Left thirteen, sorry, fourteen, right fifteen", "four, sorry, five's seventeen": what was put
            # right stands in the words, and is not how the place was found.
            return None
        return found

    # -- the rest ------------------------------------------------------------------------------

    def _file_condition(self, heard: Heard, draft: ConditionDraft, putting_right: bool) -> ConditionEntry:
        entry = ConditionEntry(
            id=self._ledger.new_id("c"),
            evidence=self.evidence(heard, draft.rule, repairs=draft.repairs),
            part=draft.part,
            condition=draft.condition,
            location=draft.location,
            unlisted=draft.unlisted,
            needs_review=bool(draft.doubts.reasons),
            reason="; ".join(draft.doubts.reasons) or None,
            candidates=draft.doubts.candidates,
        )
        if putting_right:
            self._put_right(entry, ConditionEntry)
        self._ledger.file(entry)
        return entry

    def _file_part(self, heard: Heard, draft: PartDraft, putting_right: bool) -> PartEntry:
        entry = PartEntry(
            id=self._ledger.new_id("p"),
            evidence=self.evidence(heard, draft.rule, repairs=draft.repairs),
            part=draft.part,
            action="fitted" if self._is_the_new_one(draft) else draft.action,
            quantity=draft.quantity,
            serial=draft.serial,
            unlisted=draft.unlisted,
            needs_review=bool(draft.doubts.reasons),
            reason="; ".join(draft.doubts.reasons) or None,
            candidates=draft.doubts.candidates,
        )
        if putting_right:
            self._put_right(entry, PartEntry)
        self._ledger.file(entry)
        return entry

    def _is_the_new_one(self, draft: PartDraft) -> bool:
        """Whether what goes back on is the new one told of before ("new impeller" … "impeller's back on")."""
        if not draft.goes_back or draft.quantity is not None:
            return False
        told = [
            entry
            for entry in self._ledger.entries
            if isinstance(entry, PartEntry) and entry.standing and entry.part == draft.part
            if self._ledger.age_of(entry) > 0
        ]
        decided = [entry for entry in told if entry.action in ("renewed", "reused")]
        return bool(decided) and all(e.action == "renewed" and e.quantity is None for e in decided)

    def _put_right(
        self, entry: ConditionEntry | PartEntry, kind: type[ConditionEntry] | type[PartEntry]
    ) -> None:
        """Supersede what was said of the same part just before, where the words put something right."""
        for earlier in reversed(self._ledger.entries):
            if self._ledger.age_of(earlier) > _LATELY:
                return
            if (
                isinstance(earlier, kind)
                and earlier.standing
                and earlier.part == entry.part
                and self._ledger.age_of(earlier) > 0
            ):
                self._ledger.supersede(earlier, entry.id, "corrected")
                return

    def _file_consumable(self, heard: Heard, draft: ConsumableDraft) -> ConsumableEntry:
        entry = ConsumableEntry(
            id=self._ledger.new_id("k"),
            evidence=self.evidence(heard, draft.rule, repairs=draft.repairs),
            name=draft.name,
            applied_to=draft.applied_to,
            needs_review=bool(draft.doubts.reasons),
            reason="; ".join(draft.doubts.reasons) or None,
            candidates=draft.doubts.candidates,
        )
        self._ledger.file(entry)
        return entry

    def _file_step(self, heard: Heard, draft: StepDraft) -> StepEntry:
        entry = StepEntry(
            id=self._ledger.new_id("s"),
            evidence=self.evidence(heard, draft.rule),
            step=draft.step,
            done=draft.done,
            witness=draft.witness,
            needs_review=bool(draft.doubts.reasons),
            reason="; ".join(draft.doubts.reasons) or None,
            candidates=draft.doubts.candidates,
        )
        for earlier in self._ledger.entries:
            if (
                isinstance(earlier, StepEntry)
                and earlier.standing
                and earlier.step == entry.step
                and earlier.done != entry.done
            ):
                self._ledger.supersede(earlier, entry.id, "corrected")
        self._ledger.file(entry)
        return entry

    # -- strikes -------------------------------------------------------------------------------

    def replaces_last(self, findings: Findings, command: Command) -> bool:
        """Whether "scratch that" is followed by the right reading: it corrects then instead."""
        return any(draft.corrects is not None and draft.start >= command.end for draft in findings.readings)

    def strike(self, filed: Sequence[tuple[int, Entry]], command: Command, event_id: str) -> None:
        """Strike what was said last: in the same breath before the word, else before this utterance."""
        own = [entry for start, entry in filed if start < command.start]
        if not own:
            new = {entry.id for _, entry in filed}
            own = self._ledger.last_filed(command.whole_last_utterance, new)
            own = _of_parts_said_anew(own, filed) or own
        elif not command.whole_last_utterance:
            own = own[-1:]
        for entry in own:
            self._ledger.supersede(entry, event_id, "struck")


def _of_before(heard: Heard) -> bool:
    """Whether words tell that something said long before is put right, not only what was just begun."""
    return not _BEFORE.isdisjoint(token.norm for token in heard.tokens)


def _of_parts_said_anew(last: Sequence[Entry], filed: Sequence[tuple[int, Entry]]) -> list[Entry]:
    """Return what was said last of the parts told of behind the strike ("scratch that, piston's …")."""
    anew = {entry.part for _, entry in filed if isinstance(entry, ConditionEntry | PartEntry)}
    return [e for e in last if isinstance(e, ConditionEntry | PartEntry) and e.part in anew]
