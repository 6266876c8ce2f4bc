"""All that one utterance gives, gathered from the rooms."""

from __future__ import annotations

from dataclasses import dataclass, field

from extract.conditions import read_conditions
from extract.consumables import read_consumables
from extract.decisions import read_decisions
from extract.entry_drafts import ConditionDraft, ConsumableDraft, PartDraft, StepDraft
from extract.finding_doubts import doubt_findings
from extract.heard import Heard
from extract.part_talk import PartTalk
from extract.reading_drafts import ReadingDraft, ReadingTalk
from extract.steps import read_steps
from extract.taken_back import Quoted
from extract.talk_context import TalkContext
from shared.job_sheet import JobSheet


@dataclass
class Findings:
    """Drafts of entries, by kind."""

    readings: list[ReadingDraft] = field(default_factory=list)
    conditions: list[ConditionDraft] = field(default_factory=list)
    parts: list[PartDraft] = field(default_factory=list)
    consumables: list[ConsumableDraft] = field(default_factory=list)
    steps: list[StepDraft] = field(default_factory=list)
    quoted: list[Quoted] = field(default_factory=list)
    """What was said of parts before and is put right now."""

    def __len__(self) -> int:
        return (
            len(self.readings)
            + len(self.conditions)
            + len(self.parts)
            + len(self.consumables)
            + len(self.steps)
        )

    @property
    def serial_taken(self) -> bool:
        """Whether a serial number said belongs to a part fitted in the same breath."""
        return any(draft.serial is not None for draft in self.parts)


def gather(
    sheet: JobSheet, heard: Heard, parts: PartTalk, readings: ReadingTalk, context: TalkContext
) -> Findings:
    """Read everything but commands and remarks."""
    findings = Findings(
        readings.drafts,
        _without_excuses(heard, read_conditions(heard, parts)),
        _without_measured(heard, read_decisions(heard, parts, sheet), readings),
        read_consumables(sheet, heard, parts, context),
        read_steps(sheet, heard, bool(readings.drafts)),
        parts.quoted,
    )
    doubt_findings(sheet, heard, parts, [*findings.conditions, *findings.parts], findings.consumables)
    return findings


def _without_excuses(heard: Heard, drafts: list[ConditionDraft]) -> list[ConditionDraft]:
    """Drop what is wrong with shop gear where that is why a step was left out."""
    if not heard.mentions.of("step") or not heard.mentions.cues("skipped"):
        return drafts
    return [draft for draft in drafts if not draft.unlisted]


def _without_measured(heard: Heard, drafts: list[PartDraft], readings: ReadingTalk) -> list[PartDraft]:
    """Drop "coming out" of what was measured coming out: the words gave its stage, not an action."""
    measured = {r.item for r in readings.drafts}
    spans = [m for m in heard.mentions.of("item") if measured & set(m.keys) and m.cost < 1]
    if not spans:
        return drafts
    kept = []
    for draft in drafts:
        clause = heard.clause_at(draft.start)
        in_clause = any(clause.start <= r.start < clause.end for r in readings.drafts)
        names_item = any(clause.holds(m) for m in spans)
        if not (draft.action in ("removed", "fitted") and in_clause and names_item):
            kept.append(draft)
    return kept
