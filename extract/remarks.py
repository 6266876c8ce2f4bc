"""Notes and declared deviations."""

from __future__ import annotations

from collections.abc import Sequence

from extract.entry_drafts import DeviationDraft, NoteDraft
from extract.heard import Heard
from extract.job_header import Header
from extract.part_names import NamedPart
from extract.part_talk import PartTalk
from extract.talk_context import TalkContext
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry

_LEAD_IN = word_set("remarks.lead_in")


def read_notes(heard: Heard) -> list[NoteDraft]:
    """Return the note that an utterance dictates, if its first words say so."""
    for cue in heard.mentions.cues("note"):
        lead = heard.norms(0, cue.start)
        if len(lead) > 3 or not all(word in _LEAD_IN or word in ("just", "can", "you") for word in lead):
            continue
        start = cue.end
        while start < len(heard.tokens) and heard.tokens[start].norm in _LEAD_IN:
            start += 1
        text = heard.words(start, len(heard.tokens))
        clause = heard.clause_at(cue.start)
        if text and clause.mood != "question":
            return [NoteDraft(text, cue.start, f"note: {cue.form!r}")]
    return []


def header_questions(header: Header) -> list[NoteDraft]:
    """Return what is not sure of the job's own numbers as notes to be asked about."""
    rule = "job number: said with a doubt, or heard in two ways"
    return [NoteDraft(f"{doubt}, not sure", 0, rule, doubt) for doubt in header.doubts]


def read_declared(
    sheet: JobSheet, heard: Heard, talk: PartTalk, context: TalkContext, last: ReadingEntry | None
) -> list[DeviationDraft]:
    """Return the deviation that an utterance declares, with the item or part that it is on."""
    cue = next(
        (
            m
            for m in heard.mentions.cues("declared")
            if heard.clause_at(m.start).mood not in ("question", "conditional", "elsewhere")
        ),
        None,
    )
    if cue is None:
        return []
    if any(
        heard.clause_at(cue.start).holds(m) and m.start < cue.start for m in heard.mentions.cues("negation")
    ):
        return []
    rule = f"deviation declared: {cue.form!r}"
    items = [m for m in heard.mentions.of("item") if m.cost < 1]
    behind = [m for m in items if m.start >= cue.end] or items
    parts = [p for p in talk.parts if p.start >= cue.end] or talk.parts
    position = next((key for m in heard.mentions.of("position") for key in m.keys), None)
    if behind and not _only_part(behind[0].start, parts):
        key = context.item if context.item in behind[0].keys else behind[0].key
        item = sheet.measured.get(key or "")
        held = position if item is not None and position in item.positions else None
        return [DeviationDraft(key, None, held, cue.start, f"{rule} of the item named")]
    if parts and not parts[0].unlisted:
        return [DeviationDraft(None, parts[0].parts[0], None, cue.start, f"{rule} of the part named")]
    if (
        last is not None
        and last.standing
        and last.verdict in ("outside", "undecided")
        and context.item == last.item
    ):
        return [DeviationDraft(last.item, None, last.position, cue.start, f"{rule} of the last reading")]
    if last is not None and last.standing and context.measured_last and context.item == last.item:
        return [DeviationDraft(last.item, None, last.position, cue.start, f"{rule} of the last reading")]
    focus = context.focus()
    if focus is not None:
        return [DeviationDraft(None, focus[0][-1], None, cue.start, f"{rule} of the part talked about")]
    if last is None:
        return []
    return [DeviationDraft(last.item, None, last.position, cue.start, f"{rule} of the last reading")]


def _only_part(item_start: int, parts: Sequence[NamedPart]) -> bool:
    """Whether the words name a part as well as a fastener's torque; a deviation is then on the part."""
    return any(part.start == item_start for part in parts)
