"""The board: what the bench's screen shows, in words, latest first. A page decides nothing about the pump."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel

from api.live.cautions import CautionLine
from api.live.out_of_limits import AdviceLine, advice_lines
from api.live.questions_put import QuestionPut
from api.report.missing_rows import missing_rows
from api.report.question_rows import question_row
from api.report.reading_groups import reading_name, reading_value
from api.report.wording import (
    STAGE_WORDS,
    SUPERSEDED_WORDS,
    VERDICT_SYMBOLS,
    VERDICT_WORDS,
    item_words,
    limits_words,
    position_words,
)
from shared.job_sheet import JobSheet
from shared.record import (
    ConditionEntry,
    ConsumableEntry,
    Entry,
    NoteEntry,
    PartEntry,
    PhotoEntry,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
)
from shared.sheet_entries import words_of

#: So many lines can be read from two metres on one screen; the rest is in the record.
SHOWN = 8
Mark = Literal["taken", "within", "outside", "undecided", "ask", "gone"]


class Line(BaseModel):
    """One entry on the board."""

    id: str
    kind: str
    what: str
    value: str = ""
    limits: str = ""
    mark: Mark
    symbol: str
    word: str
    """What the symbol says."""
    heard: str
    at_s: float
    provisional: bool = False
    """Heard while the phrase was hardly over; the final hearing may say otherwise."""


class Asked(BaseModel):
    """A question on the board."""

    id: str
    about: str
    """Id of the entry."""
    text: str
    choices: list[str]
    heard: str


class Board(BaseModel):
    """All of it."""

    lines: list[Line]
    questions: list[Asked]
    """Open ones, latest first."""
    left: list[str]
    """What the sheet wants and nobody said."""
    put: QuestionPut | None = None
    """The question that the next words may answer."""
    cautions: list[CautionLine] = []
    closing: list[str] | None = None
    """The pump goes together: what is wanted before that; None where it does not."""
    advice: list[AdviceLine] = []
    """On clearances and the like that are outside limits; it advises and never authorises."""
    last: str = ""
    """Id of the standing entry filed last, which a strike would take."""
    struck_last: bool = False
    """Whether a strike was the last command, so that it may be undone."""
    deviations: int
    readings: int
    paused: bool
    steps: list[str] = []
    """Steps said to be done, as the sheet names them."""
    finished: bool


def board_of(record: RebuildRecord, sheet: JobSheet) -> Board:
    """Return the board of a record so far."""
    entries = _entries(record)
    open_questions = [question for question in record.questions if question.answered_by is None]
    events = [event.event for event in record.events]
    pauses = [event for event in events if event in ("pause", "resume")]
    return Board(
        lines=[line_of(entry, sheet) for entry in entries[-SHOWN:][::-1]],
        questions=[
            Asked(
                id=asked.id,
                about=asked.about or "",
                text=row.text,
                choices=row.choices,
                heard=row.heard.words,
            )
            for asked in open_questions[::-1]
            for row in [question_row(record, sheet, asked)]
        ],
        left=[f"{row.kind}: {row.text}" for row in missing_rows(record, sheet)],
        deviations=len(record.deviations),
        advice=advice_lines(record, sheet),
        last=next((entry.id for entry in reversed(entries) if _strikable(entry)), ""),
        struck_last=bool(events) and events[-1] == "strike_last",
        readings=sum(reading.standing and not reading.needs_review for reading in record.readings),
        paused=bool(pauses) and pauses[-1] == "pause",
        steps=[one.step for one in record.steps if one.standing and one.done and not one.needs_review],
        finished="finish" in events,
    )


def line_of(entry: Entry, sheet: JobSheet, *, provisional: bool = False) -> Line:
    """Return an entry as it stands on the board."""
    what, value, limits = _said(entry, sheet)
    mark, symbol, word = _mark(entry)
    return Line(
        id=entry.id,
        kind=type(entry).__name__.removesuffix("Entry").lower(),
        what=what,
        value=value,
        limits=limits,
        mark=mark,
        symbol=symbol,
        word=word,
        heard=entry.evidence.words,
        at_s=entry.evidence.end_s,
        provisional=provisional,
    )


def last_line(record: RebuildRecord, sheet: JobSheet) -> Line | None:
    """Return the standing entry that was filed last, as a strike would take it."""
    standing = [entry for entry in _entries(record) if _strikable(entry)]
    return line_of(standing[-1], sheet) if standing else None


def _strikable(entry: Entry) -> bool:
    return entry.standing and not isinstance(entry, PhotoEntry)


def _entries(record: RebuildRecord) -> Sequence[Entry]:
    # By time: what the bench's camera took was said by nobody and has no utterance.
    return sorted(record.entries(), key=lambda entry: (entry.evidence.recording, entry.evidence.start_s))


def _said(entry: Entry, sheet: JobSheet) -> tuple[str, str, str]:
    """Return what an entry is of, its value and its limits, in words."""
    match entry:
        case ReadingEntry():
            measured = sheet.measured.get(entry.item)
            limits = limits_words(measured)
            return reading_name(sheet, entry.item, entry.position), reading_value(sheet, entry), limits
        case ConditionEntry():
            where = f", {position_words(sheet, entry.location)}" if entry.location else ""
            return f"{item_words(entry.part)}{where}", words_of(entry.condition), ""
        case PartEntry():
            count = f" x {entry.quantity}" if entry.quantity else ""
            return item_words(entry.part), words_of(entry.action) + count, ""
        case ConsumableEntry():
            where = f" on {words_of(entry.applied_to)}" if entry.applied_to else ""
            return item_words(entry.name) + where, "used", ""
        case StepEntry():
            return item_words(entry.step), "done" if entry.done else "left out", ""
        case PhotoEntry():
            stage = "" if entry.stage == "either" else STAGE_WORDS[entry.stage]
            return f"Picture of {words_of(entry.of)}" if entry.of else "Picture", stage, ""
        case NoteEntry():
            return entry.text, "", ""


def _mark(entry: Entry) -> tuple[Mark, str, str]:
    if entry.superseded_why is not None:
        again = isinstance(entry, PhotoEntry) and entry.superseded_why == "measured_again"
        return "gone", "–", "taken again" if again else SUPERSEDED_WORDS[entry.superseded_why]
    if entry.needs_review:
        return "ask", "?", "asked"
    if isinstance(entry, PhotoEntry) and not entry.usable:
        return "undecided", "✗", "not usable"
    if isinstance(entry, ReadingEntry) and entry.verdict != "no_limit":
        mark: Mark = entry.verdict
        return mark, VERDICT_SYMBOLS[entry.verdict], VERDICT_WORDS[entry.verdict]
    return "taken", "✓", "taken"
