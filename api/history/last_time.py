"""What was said and found the last time that the pump on the bench was rebuilt here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sqlalchemy import or_, select
from sqlalchemy.orm import Session

from api.history.drawing import plain
from api.history.rebuilds import PumpName
from api.history.repeats import SOUND
from api.report.wording import DEVIATION_WORDS, DISPOSITION_WORDS
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, ArchivedUtterance
from api.store.tables import BenchJob, Recording
from shared.job_sheet import JobSheet
from shared.sheet_entries import words_of
from shared.units import SYMBOLS

_RENEWED = ("renewed", "fitted")
#: Lines of one kind that a bench is shown; the whole stands in the pump's history.
MOST = 12


@dataclass(frozen=True)
class LastLine:
    """One thing of the last time."""

    text: str
    said: str = ""
    """In whose words, as they were heard."""
    sound: str | None = None
    """Where they can be played, while their sound is kept."""


@dataclass(frozen=True)
class LastTime:
    """The last rebuild of the pump."""

    day: str
    """Empty where nobody knows."""
    work_order: str | None
    technician: str | None
    hours: float | None
    signed: bool
    other_serial: str | None
    """Serial number of the pump that stood under the same tag then, where it was another one."""
    history: str
    """Where the whole history stands."""
    found: tuple[LastLine, ...]
    """What was amiss: conditions, as-found readings outside their limits."""
    deviations: tuple[LastLine, ...]
    renewed: tuple[str, ...]
    left: tuple[LastLine, ...]
    """As-left readings."""
    notes: tuple[LastLine, ...]


def last_time(session: Session, job: BenchJob, sheet: JobSheet) -> LastTime | None:
    """Return the last rebuild of the pump of a job, or None where there is none, or the pump has no name.

    Args:
        session: any.
        job: on the bench.
        sheet: of the job, for what places are called.
    """
    record = _last_record(session, job)
    if record is None:
        return None
    entries = session.scalars(
        select(ArchivedEntry).where(
            ArchivedEntry.record_id == record.id, ArchivedEntry.fate.is_(None),
            ArchivedEntry.needs_review.is_(False),
        ).order_by(ArchivedEntry.id)
    ).all()  # fmt: skip
    lines = _Lines(session, record, sheet)
    readings = [one for one in entries if one.kind == "reading" and one.value is not None]
    found = [one for one in entries if one.kind == "condition" and one.what not in SOUND]
    found += [one for one in readings if one.stage == "as_found" and one.verdict == "outside"]
    renewed = dict.fromkeys(
        words_of(one.part or "") for one in entries if one.kind == "part" and one.what in _RENEWED
    )
    same = record.pump_serial == job.pump_serial or not (record.pump_serial and job.pump_serial)
    return LastTime(
        day=record.started_at.date().isoformat() if record.started_at else "",
        work_order=record.work_order, technician=record.technician, hours=record.running_hours,
        signed=record.signed, other_serial=None if same else record.pump_serial,
        history=PumpName(record.pump_tag, record.pump_serial).path,
        found=lines.of(found), renewed=tuple(renewed),
        deviations=lines.of([one for one in entries if one.kind == "deviation"]),
        left=lines.of([one for one in readings if one.stage == "as_left"]),
        notes=lines.of([one for one in entries if one.kind == "note"]),
    )  # fmt: skip


def _last_record(session: Session, job: BenchJob) -> ArchivedRecord | None:
    names = []
    if job.pump_tag:
        names.append(ArchivedRecord.pump_tag == job.pump_tag)
    if job.pump_serial:
        names.append(ArchivedRecord.pump_serial == job.pump_serial)
    if not names:
        return None
    before = select(ArchivedRecord).where(
        ArchivedRecord.stands, or_(*names),
        or_(ArchivedRecord.job_id.is_(None), ArchivedRecord.job_id != job.id),
    )  # fmt: skip
    newest = before.order_by(ArchivedRecord.started_at.desc().nulls_last(), ArchivedRecord.id.desc())
    return session.scalar(newest.limit(1))


class _Lines:
    def __init__(self, session: Session, record: ArchivedRecord, sheet: JobSheet) -> None:
        self._sheet, self._job_id = sheet, record.job_id
        said = select(ArchivedUtterance).where(ArchivedUtterance.record_id == record.id)
        self._said = {one.number: one.words for one in session.scalars(said)}
        kept = select(Recording.number).where(
            Recording.job_id == record.job_id, Recording.sound_gone_at.is_(None)
        )
        self._kept = {f"{number:03d}" for number in session.scalars(kept)} if record.job_id else set[str]()

    def of(self, entries: Sequence[ArchivedEntry]) -> tuple[LastLine, ...]:
        return tuple(self._line(one) for one in entries[:MOST])

    def _line(self, one: ArchivedEntry) -> LastLine:
        said = self._said.get(one.utterance, "") if one.utterance is not None else ""
        sound = None
        if said and one.recording in self._kept and one.start_s is not None and one.end_s is not None:
            span = f"start={max(0.0, one.start_s - 0.3):.2f}&end={one.end_s + 0.5:.2f}"
            sound = f"/office/{self._job_id}/sound/{one.recording}.wav?{span}"
        return LastLine(self._text(one), said, sound)

    def _text(self, one: ArchivedEntry) -> str:
        match one.kind:
            case "reading":
                place = f", {self._sheet.place_of(one.position, one.item)}" if one.position else ""
                symbol = SYMBOLS.get(one.unit, one.unit) if one.unit else ""
                word = "" if one.verdict in ("within", "no_limit") else f" {one.verdict}"
                return f"{words_of(one.item or '')}{place}: {plain(one.value or 0.0)} {symbol}{word}"
            case "condition":
                where = f", {words_of(one.position)}" if one.position else ""
                return f"{words_of(one.part or '')}: {words_of(one.what or '')}{where}"
            case "deviation":
                kind = DEVIATION_WORDS.get(one.what or "", one.what or "")
                settled = DISPOSITION_WORDS.get(one.disposition or "", "not disposed of")  # type: ignore[call-overload]
                return f"{kind}: {one.text} ({settled})"
        return one.text or ""
