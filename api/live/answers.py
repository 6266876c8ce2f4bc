"""What the bench answers: a pair of tones, a few words to be read out, and lines in large type."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from pydantic import BaseModel

from api.live.bench_orders import Order
from api.live.board import line_of
from api.live.closing_up import few_of, in_turn, wanted_before
from api.live.questions_put import QuestionPut
from api.live.reading_back import MOST_SAID, read_back, said_readings
from api.report.missing_rows import missing_rows
from api.report.view import Highlight
from extract.heard import Heard
from extract.restored import asks_to_restore
from shared.job_sheet import JobSheet
from shared.record import Entry, EventEntry, ReadingEntry, RebuildRecord

Tone = Literal["taken", "ask", "out"]


class Answer(BaseModel):
    """Answered once, right after the utterance."""

    tone: Tone | None = None
    say: str = ""
    """Empty for nothing."""
    title: str = ""
    """Of the lines below, in large type; empty for none."""
    rows: list[str] = []
    cautions: list[str] = []
    """Brought up by it, each once in a job."""


@dataclass(frozen=True)
class Outcome:
    """What an utterance or a press came to."""

    sheet: JobSheet
    before: RebuildRecord
    record: RebuildRecord
    pieces: Sequence[Heard]
    """As it was read, outside pauses."""
    changed: Sequence[Entry]
    order: Order | None
    warn: bool
    """Whether the pump goes together and something is missing that was not named yet."""
    asked: QuestionPut | None
    """The question that is put now, if it was not put before."""
    cautions: Sequence[str]


def answer_to(came: Outcome) -> Answer:
    """Return what is answered to an utterance or a press."""
    answer = _to_order(came) or _to_event(came) or _to_entries(came)
    return answer.model_copy(update={"cautions": list(came.cautions)})


def what_is_left(record: RebuildRecord, sheet: JobSheet) -> Answer:
    """Return what the sheet wants and nobody said."""
    rows = in_turn(missing_rows(record, sheet))
    if not rows:
        return Answer(tone="taken", say="nothing is left", title="Nothing is left")
    return Answer(tone="taken", say=f"left: {few_of(rows)}", title="What is left", rows=_texts(rows))


def _to_order(came: Outcome) -> Answer | None:
    if came.order == "left":
        return what_is_left(came.record, came.sheet)
    if came.order == "closing" and came.warn:
        wanted = wanted_before(came.record, came.sheet)
        if not wanted:
            return Answer(
                tone="taken", say="all of it was said", title="Nothing is missing before it is closed up"
            )
        return Answer(
            tone="ask",
            say=f"before it goes together: {few_of(wanted)}",
            title="Before it is closed up",
            rows=_texts(wanted),
        )
    return None


def _to_event(came: Outcome) -> Answer | None:
    """Return the answer to a command; its words alone file nothing."""
    known = {event.id for event in came.before.events}
    new = [event for event in came.record.events if event.id not in known]
    for event in reversed(new):
        if event.event == "finish":
            return what_is_left(came.record, came.sheet)
        if event.event == "read_back":
            said = read_back(came.pieces, came.record, came.sheet)
            return Answer(tone="taken", say=said, title="Read back", rows=said.split(". "))
        if event.event == "pause":
            return Answer(tone="taken", say="paused", title="Paused")
        if event.event == "resume":
            return Answer(tone="taken", say="listening", title="Listening")
        if event.event == "strike_last":
            return _struck(came, event)
    if any(asks_to_restore(piece.utterance.text) for piece in came.pieces):
        return _put_back(came)
    return None


def _put_back(came: Outcome) -> Answer:
    back = [e for e in came.changed if e.standing and _was_struck(came.before, e.id)]
    if not back:
        return Answer(tone="ask", say="nothing to put back", title="Nothing to put back")
    said = f"put back: {_named(came, back)}"
    return Answer(tone="taken", say=said, title="Put back", rows=_rows(came, back))


def _struck(came: Outcome, event: EventEntry) -> Answer | None:
    struck = [entry for entry in came.changed if entry.superseded_by == event.id]
    if not struck:
        return Answer(tone="ask", say="nothing to strike", title="Nothing to strike")
    if any(entry.standing for entry in came.changed):
        return None  # "Scratch that, it's thirty": what stands now is read back.
    return Answer(
        tone="taken", say=f"struck: {_named(came, struck)}", title="Struck", rows=_rows(came, struck)
    )


def _to_entries(came: Outcome) -> Answer:
    if came.asked is not None:
        return Answer(tone="ask", say=came.asked.say)
    standing = [entry for entry in came.changed if entry.standing]
    if any(entry.needs_review for entry in standing):
        return Answer(tone="ask")
    readings = [entry for entry in standing if isinstance(entry, ReadingEntry)]
    more = f". And {len(readings) - MOST_SAID} more" if len(readings) > MOST_SAID else ""
    say = said_readings(came.sheet, readings[:MOST_SAID]) + more
    if any(reading.verdict == "outside" for reading in readings):
        return Answer(tone="out", say=say)
    return Answer(tone="taken" if standing else None, say=say)


def _was_struck(before: RebuildRecord, entry_id: str) -> bool:
    return any(e.id == entry_id and e.superseded_why == "struck" for e in before.entries())


def _named(came: Outcome, entries: Sequence[Entry]) -> str:
    """Return entries in a few words."""
    readings = [entry for entry in entries if isinstance(entry, ReadingEntry)]
    if readings:
        return said_readings(came.sheet, readings[:MOST_SAID])
    return ", ".join(" ".join(row.split()) for row in _rows(came, entries)[:MOST_SAID])


def _rows(came: Outcome, entries: Sequence[Entry]) -> list[str]:
    lines = [line_of(entry, came.sheet) for entry in entries]
    return [f"{line.what} {line.value}".rstrip() for line in lines]


def _texts(rows: Sequence[Highlight]) -> list[str]:
    return [row.text for row in rows]
