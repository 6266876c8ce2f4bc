"""Entries as the office shows them beside their evidence, doubtful ones first."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import get_args

from api.live.bench_facts import BenchFacts, place_of
from api.live.board import Line, line_of
from api.office.pictures import EntryPicture, entry_picture
from api.report.question_rows import question_row
from api.report.wording import DEVIATION_WORDS, clock
from extract.reviewing import CORRECTABLE, asks_about, deviation_key
from shared.job_sheet import JobSheet
from shared.record import (
    Action,
    Condition,
    ConsumableName,
    DeviationEntry,
    Entry,
    Evidence,
    PhotoEntry,
    ReadingEntry,
    RebuildRecord,
    Stage,
)

#: Seconds of sound before and after an entry's words: what came just before tells much.
BEFORE_S, AFTER_S = 1.0, 0.6


@dataclass(frozen=True)
class Choice:
    """A field that a correction may change."""

    name: str
    value: str
    options: tuple[str, ...] = ()
    """Empty where it is typed."""


@dataclass(frozen=True)
class Clip:
    """Where an entry's words are heard."""

    recording: str
    from_s: float
    to_s: float
    shown: str


@dataclass(frozen=True)
class ReviewRow:
    """One entry."""

    line: Line
    rule: str
    confidence: str
    reason: str
    question: str
    choices: tuple[str, ...]
    clip: Clip | None
    picture: EntryPicture | None
    fields: tuple[Choice, ...]
    doubtful: bool
    standing: bool
    repairs: tuple[str, ...] = ()
    decided: str = ""
    """What was decided, by whom and when; empty for nothing yet."""
    present: str = ""
    """Who was signed in at the bench when it was said."""
    measured_with: str = ""
    """The gauge, of a reading."""

    def fields_told(self, lists: Mapping[tuple[str, ...], int]) -> str:
        """Return its fields as JSON: name, value, number of the list of options (null: it is typed)."""
        return json.dumps([[one.name, one.value, lists.get(one.options)] for one in self.fields])


@dataclass(frozen=True)
class DeviationRow:
    """One deviation."""

    key: str
    kind: str
    text: str
    clip: Clip | None
    disposition: str
    decided: str


@dataclass(frozen=True)
class Review:
    """All that is decided about."""

    rows: list[ReviewRow] = field(default_factory=list)
    deviations: list[DeviationRow] = field(default_factory=list)

    @property
    def open(self) -> int:
        """How many doubtful entries nobody decided about."""
        return sum(row.doubtful for row in self.rows)

    @property
    def option_lists(self) -> dict[tuple[str, ...], int]:
        """Every list of options that fields have, once, numbered: hundreds of entries share a few."""
        lists = (one.options for row in self.rows for one in row.fields if one.options)
        return {options: number for number, options in enumerate(dict.fromkeys(lists))}


def review_of(
    record: RebuildRecord, sheet: JobSheet, decided: Mapping[str, str], facts: BenchFacts
) -> Review:
    """Return what the office shows of a record.

    Args:
        record: with the decisions so far applied.
        sheet: that it is checked against.
        decided: by entry as extracted or deviation key, what was decided last, in words.
        facts: of the bench.
    """
    rows = [_row(record, sheet, entry, decided, facts) for entry in record.entries()]
    rows.sort(key=lambda row: (not row.doubtful, not row.standing, row.line.at_s))
    return Review(rows, [_deviation(one, decided) for one in record.deviations])


def clip_of(evidence: Evidence) -> Clip | None:
    """Return where an entry's words are heard, or where its picture was taken; None where nobody knows."""
    if not evidence.recording:
        return None
    start = max(0.0, evidence.start_s - BEFORE_S)
    return Clip(evidence.recording, start, evidence.end_s + AFTER_S, clock(evidence.start_s))


def _row(
    record: RebuildRecord, sheet: JobSheet, entry: Entry, decided: Mapping[str, str], facts: BenchFacts
) -> ReviewRow:
    open_ = (question for question in record.questions if question.answered_by is None)
    asked = next((question for question in open_ if asks_about(question, entry)), None)
    view = question_row(record, sheet, asked) if asked else None
    return ReviewRow(
        line=line_of(entry, sheet),
        rule=entry.evidence.rule,
        confidence=f"{entry.evidence.confidence:.0%}",
        reason=entry.reason or "",
        question=view.text if view else "",
        choices=tuple(view.choices) if view else (),
        clip=clip_of(entry.evidence),
        picture=entry_picture(entry) if isinstance(entry, PhotoEntry) else None,
        fields=tuple(_fields(entry, sheet)),
        # A picture may speak against what is not doubtful in itself.
        doubtful=entry.standing and (entry.needs_review or asked is not None),
        standing=entry.standing,
        repairs=tuple(entry.evidence.repairs),
        decided=decided.get(entry.id, ""),
        present=_present(entry.evidence, facts),
        measured_with=entry.gauge or "" if isinstance(entry, ReadingEntry) else "",
    )


def _present(evidence: Evidence, facts: BenchFacts) -> str:
    place = place_of(evidence)
    names = facts.present_at(place) if place is not None else []
    return ", ".join(name.rpartition(" (")[0] for name in names)


def _fields(entry: Entry, sheet: JobSheet) -> Iterator[Choice]:
    parts = tuple(sheet.part_names)
    measured = sheet.measured.get(getattr(entry, "item", ""))
    options: dict[str, tuple[str, ...]] = {
        "item": tuple(sheet.measured),
        "position": ("", *measured.positions) if measured else (),
        "stage": get_args(Stage),
        "part": parts,
        "condition": get_args(Condition),
        "action": get_args(Action),
        "name": get_args(ConsumableName),
    }
    for name in CORRECTABLE[type(entry)]:
        value = getattr(entry, name)
        shown = "" if value is None else str(value)
        # What was said may be of a part that is not on the sheet.
        known = options.get(name, ())
        yield Choice(name, shown, (*known, shown) if known and shown not in known else known)


def _deviation(deviation: DeviationEntry, decided: Mapping[str, str]) -> DeviationRow:
    key = deviation_key(deviation)
    return DeviationRow(
        key=key,
        kind=DEVIATION_WORDS[deviation.kind],
        text=deviation.text,
        clip=clip_of(deviation.evidence),
        disposition=deviation.disposition or "",
        decided=decided.get(key, ""),
    )
