"""The clips behind a figure: where it happened, newest first, each with its seconds of sound."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from urllib.parse import quote

from sqlalchemy import and_, or_, select
from sqlalchemy.orm import Session, aliased, defer

from api.archive.counting import name_and_position
from api.lessons.counted import Asked
from api.store.archive_tables import ArchivedEntry, ArchivedRecord, ArchivedUtterance

#: More than that nobody hears in a row.
MOST = 40
#: Seconds before and after: the ear needs a beginning. No more, or other talk is heard with it.
AROUND_S = 0.2
_TAKEN_BACK = ("corrected", "reviewer_corrected")
_FORGOTTEN = frozenset({"reading", "photo", "part_decision", "step"})


@dataclass(frozen=True)
class Clip:
    """One place in one record's sound."""

    record_id: int
    source: str
    job_id: str | None
    work_order: str
    pump_tag: str
    date: str
    recording: str | None
    start_s: float
    end_s: float
    words: str
    """As heard; empty where nothing was said of it."""
    what: str
    """What it is an example of."""
    agreed: bool = False
    """Whether its sound may be heard outside review; see :mod:`api.lessons.heard_outside`."""

    @property
    def audible(self) -> bool:
        """It has sound that may be heard, as far as the archive knows."""
        return self.agreed and bool(self.recording) and self.end_s > self.start_s

    @property
    def takeable(self) -> bool:
        """It can go into a lesson, which asks by itself whether it is heard there."""
        return self.job_id is not None and bool(self.recording) and self.end_s > self.start_s

    @property
    def sound(self) -> str:
        """Path of its sound."""
        start, end = max(0.0, self.start_s - AROUND_S), self.end_s + AROUND_S
        place = f"recording={quote(self.recording or '')}&start={start:.2f}&end={end:.2f}"
        return f"/search/{self.record_id}/sound.wav?{place}"


def clips_behind(session: Session, asked: Asked, kind: str, key: str) -> list[Clip]:
    """Return where a figure's cases happened.

    Of what was forgotten it is where the talk was last about it; where it never was there is nothing to hear.

    Args:
        session: one that reads.
        asked: sheet and period.
        kind: of the figure.
        key: of the figure.
    """
    entry = ArchivedEntry
    if kind in _FORGOTTEN:
        name, position = name_and_position(key)
        column = entry.item if kind == "reading" else entry.part
        where = and_(entry.kind == "missing", entry.what == kind, column == name)
        return _found(session, asked, and_(where, _at(position)), forgotten=True)
    if kind == "limit":
        name, position = name_and_position(key)
        where = and_(
            entry.kind == "reading", entry.item == name, entry.verdict == "outside", entry.fate.is_(None),
            entry.needs_review.is_(False),
        )  # fmt: skip
        return _found(session, asked, and_(where, _at(position)))
    of, _, rest = key.partition(":")
    name, position = name_and_position(rest)
    where = and_(entry.kind == of, _named(of, name), entry.fate.in_(_TAKEN_BACK))
    return _found(session, asked, and_(where, _at(position)))


def good_examples(session: Session, asked: Asked, kind: str, key: str) -> list[Clip]:
    """Return where the same was done as it is wanted; arguments as above."""
    entry = ArchivedEntry
    rest = key.partition(":")[2] if kind == "corrected" else key
    name, position = name_and_position(rest)
    stands = and_(entry.fate.is_(None), entry.needs_review.is_(False))
    if kind == "step":
        where = and_(entry.kind == "step", entry.what == name, entry.verdict == "done")
    elif kind == "photo":
        where = and_(entry.kind == "photo", entry.what == name, entry.verdict == "usable")
    elif kind == "part_decision":
        where = and_(entry.kind == "part", entry.part == name)
    elif kind == "corrected":
        where = and_(entry.kind == key.partition(":")[0], _named(key.partition(":")[0], name), _at(position))
    else:
        where = and_(entry.kind == "reading", entry.item == name, entry.verdict == "within", _at(position))
    return _found(session, asked, and_(where, stands))


def _named(kind: str, name: str) -> Any:
    entry = ArchivedEntry
    if kind == "reading":
        return entry.item == name
    if kind in ("condition", "part"):
        return entry.part == name
    # The roll-up names a consumable by what it was put on, where that was said.
    return entry.what == name if kind == "step" else or_(entry.part == name, entry.what == name)


def _at(position: str | None) -> Any:
    column = ArchivedEntry.position
    return column == position if position is not None else column.is_(None)


def _found(session: Session, asked: Asked, where: Any, *, forgotten: bool = False) -> list[Clip]:
    entry, record, said = ArchivedEntry, ArchivedRecord, aliased(ArchivedUtterance)
    hears = (
        and_(said.start_s <= entry.start_s, said.end_s >= entry.start_s)
        if forgotten
        else and_(said.number == entry.utterance, said.recording == entry.recording)
    )
    order = (record.started_at.desc().nulls_last(), record.id, entry.start_s, entry.id)
    # The newest first, by themselves: there may be thousands, and what was said is asked for of few.
    wanted: Any = select(entry.id).join(record, record.id == entry.record_id)
    wanted = asked.months(wanted.where(record.sheet_id == asked.sheet_id, record.stands, where), record.month)
    newest = session.scalars(wanted.order_by(*order).limit(MOST)).all()
    rows = session.execute(
        select(entry, record, said)
        .join(record, record.id == entry.record_id)
        .outerjoin(said, and_(said.record_id == entry.record_id, hears))
        .where(entry.id.in_(newest))
        .order_by(*order)
        # Each is a hundred times as long as all that is asked for.
        .options(defer(record.record, raiseload=True), defer(record.counted, raiseload=True))
    )
    found: dict[int, Clip] = {}
    for one, its_record, heard in rows:
        # A moment at the seam of two utterances finds both.
        if one.id not in found:
            found[one.id] = _clip(one, its_record, heard, forgotten)
    return list(found.values())


def _clip(
    entry: ArchivedEntry, record: ArchivedRecord, heard: ArchivedUtterance | None, forgotten: bool
) -> Clip:
    start = heard.start_s if heard else (entry.start_s or 0.0)
    end = heard.end_s if heard else (entry.end_s or 0.0)
    return Clip(
        record_id=record.id, source=record.source, job_id=record.job_id, work_order=record.work_order or "",
        pump_tag=record.pump_tag or "", date=f"{record.started_at:%Y-%m-%d}" if record.started_at else "",
        recording=heard.recording if heard else entry.recording, start_s=start, end_s=end,
        words=heard.words if heard else "", what=_what(entry, forgotten),
    )  # fmt: skip


def _what(entry: ArchivedEntry, forgotten: bool) -> str:
    if forgotten:
        return "the talk was last about it here" if entry.start_s is not None else "nobody spoke of it"
    if entry.fate == "reviewer_corrected":
        return "put right by the office"
    if entry.fate == "corrected":
        return "put right at the bench"
    if entry.value is not None:
        return f"{entry.value:g} {entry.unit or ''}, {entry.verdict}".replace("_", " ")
    return (entry.what or entry.verdict or "").replace("_", " ")
