"""What a record's rows in the archive are: its entries, its talk and how long its stages took."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Any

from extract.reviewing import RULE as REVIEW_RULE
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    Entry,
    Evidence,
    NoteEntry,
    PartEntry,
    PhotoEntry,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
)
from shared.speech import Utterance

Row = dict[str, Any]
#: A row of ``archived_entries`` without anything; rows of one insert have the same columns.
_EMPTY: Row = dict.fromkeys(
    ("item", "part", "position", "stage", "value", "unit", "verdict", "what", "quantity", "serial", "fate",
     "disposition", "text", "utterance", "recording", "start_s", "end_s", "picture")
) | {"needs_review": False}  # fmt: skip
#: Longer than that nothing was said: a break, which is no stage's work.
BREAK_S = 15 * 60.0
#: What is done to a part when it comes out, and when one goes in.
_COMING_OUT = frozenset({"cleaned", "scrapped", "saved", "removed"})


def entry_rows(record: RebuildRecord) -> list[Row]:
    """Return a row of ``archived_entries`` for everything that a record holds, kind by kind."""
    by_office = {entry.id for entry in record.entries() if entry.evidence.rule == REVIEW_RULE}
    rows = [_of_entry(entry, by_office) for entry in record.entries()]
    for deviation in record.deviations:
        rows.append(
            _row(
                "deviation", deviation.id, deviation.evidence, item=deviation.item, part=deviation.part,
                position=deviation.position, what=deviation.kind, text=deviation.text,
                disposition=deviation.disposition, needs_review=deviation.needs_review,
            )
        )  # fmt: skip
    for missing in record.missing:
        rows.append(
            {
                **_EMPTY, "kind": "missing", "entry_id": "", "item": missing.item,
                "part": missing.part or missing.of or missing.step, "position": missing.position,
                "what": missing.kind, "text": missing.text, "start_s": missing.moment_s,
            }
        )  # fmt: skip
    for question in record.questions:
        rows.append(
            _row(
                "question",
                question.id,
                question.evidence,
                text=question.text,
                needs_review=question.answered_by is None,
            )
        )
    rows += [_row("event", one.id, one.evidence, what=one.event, part=one.part) for one in record.events]
    return rows


def utterance_rows(record: RebuildRecord, talk: Mapping[int, Utterance]) -> list[Row]:
    """Return a row of ``archived_utterances`` for each thing said about the job.

    Args:
        record: whose evidence quotes some of it; that much is known where nothing else is kept.
        talk: all job talk, by the number that evidence names it by.
    """
    rows: dict[int, Row] = {
        number: _said(number, one.recording, one.start_s, one.end_s, one.text)
        for number, one in talk.items()
        if one.text.strip()
    }
    for evidence in _evidence(record):
        # Before the first utterance is what nobody said: remarks of the program, pictures.
        if evidence.utterance >= 0 and evidence.words.strip() and evidence.utterance not in rows:
            rows[evidence.utterance] = _said(
                evidence.utterance, evidence.recording, evidence.start_s, evidence.end_s, evidence.words
            )
    return [rows[number] for number in sorted(rows)]


def stage_rows(record: RebuildRecord) -> list[Row]:
    """Return how long each stage took: the time from entry to entry, given to the later one's stage.

    Breaks are left out; so is talk before the first entry that tells a stage. Common practice, no source.
    """
    told = sorted(
        (entry.evidence.recording, entry.evidence.start_s, _stage(entry))
        for entry in record.entries()
        if entry.evidence.utterance >= 0
    )
    seconds: dict[str, float] = {}
    stage = ""
    for (recording, before_s, _), (recording_now, now_s, stage_now) in pairwise(told):
        stage = stage_now or stage
        passed_s = now_s - before_s
        if recording == recording_now and 0 < passed_s <= BREAK_S:
            seconds["whole"] = seconds.get("whole", 0.0) + passed_s
            if stage:
                seconds[stage] = seconds.get(stage, 0.0) + passed_s
    return [{"stage": name, "seconds": round(spent, 3)} for name, spent in seconds.items()]


def _of_entry(entry: Entry, by_office: set[str]) -> Row:
    more: Row = {}
    match entry:
        case ReadingEntry():
            kind = "reading"
            more = {
                "item": entry.item, "position": entry.position, "stage": entry.stage, "value": entry.value,
                "unit": entry.unit, "verdict": entry.verdict,
            }  # fmt: skip
        case ConditionEntry():
            kind = "condition"
            more = {"part": entry.part, "what": entry.condition, "position": entry.location}
        case PartEntry():
            kind = "part"
            more = {
                "part": entry.part, "what": entry.action, "quantity": entry.quantity, "serial": entry.serial,
            }  # fmt: skip
        case ConsumableEntry():
            kind, more = "consumable", {"part": entry.applied_to, "what": entry.name}
        case StepEntry():
            kind = "step"
            more = {"what": entry.step, "verdict": "done" if entry.done else "left_out"}
        case PhotoEntry():
            kind = "photo"
            more = {
                "part": entry.of, "what": entry.of, "stage": entry.stage, "picture": entry.picture,
                "verdict": "usable" if entry.usable else "unusable",
            }  # fmt: skip
        case NoteEntry():
            kind, more = "note", {"text": entry.text}
    fate: str | None = entry.superseded_why
    if fate == "corrected" and entry.superseded_by in by_office:
        fate = "reviewer_corrected"
    return _row(kind, entry.id, entry.evidence, fate=fate, needs_review=entry.needs_review, **more)


def _row(kind: str, entry_id: str, evidence: Evidence, **more: Any) -> Row:
    return {
        **_EMPTY, "kind": kind, "entry_id": entry_id, "utterance": evidence.utterance,
        "recording": evidence.recording, "start_s": evidence.start_s, "end_s": evidence.end_s, **more,
    }  # fmt: skip


def _said(number: int, recording: str, start_s: float, end_s: float, words: str) -> Row:
    return {"number": number, "recording": recording, "start_s": start_s, "end_s": end_s, "words": words}


def _evidence(record: RebuildRecord) -> Iterator[Evidence]:
    entries = (*record.entries(), *record.deviations, *record.questions, *record.unfiled_numbers)
    yield from (entry.evidence for entry in (*entries, *record.events))


def _stage(entry: Entry) -> str:
    """Return the stage that an entry tells the work to be at; empty where it tells none."""
    match entry:
        case ReadingEntry() | PhotoEntry():
            return "" if entry.stage == "either" else entry.stage
        case ConditionEntry():
            return "as_found"
        case PartEntry():
            return "as_found" if entry.action in _COMING_OUT else "as_left"
        case ConsumableEntry():
            return "as_left"
    return ""
