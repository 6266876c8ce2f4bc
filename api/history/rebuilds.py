"""The rebuilds of a pump, oldest first, as the archive has them: records that stand, and no others."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise
from typing import Any, TypeVar
from urllib.parse import quote

from sqlalchemy import ColumnElement, func, or_, select
from sqlalchemy.orm import Session

from api.store.archive_tables import ArchivedRecord

#: A page shows so many pumps; more are found by their tag.
MOST_PUMPS = 200


@dataclass(frozen=True)
class PumpName:
    """What a pump goes by: its tag at the plant, or, where it has none, its serial number."""

    tag: str | None
    serial: str | None = None

    @property
    def shown(self) -> str:
        """What it is called on a page."""
        return self.tag or f"serial {self.serial}"

    @property
    def path(self) -> str:
        """Where its history stands, without the server."""
        return f"/pumps/{quote(self.tag)}" if self.tag else f"/pump-serials/{quote(self.serial or '')}"


@dataclass(frozen=True)
class Rebuild:
    """One rebuild, as far as figures of many need it."""

    record_id: int
    """In the archive."""
    name: PumpName
    serial: str | None
    work_order: str | None
    sheet_id: str
    at: datetime | None
    """When work began; None where nobody knows."""
    hours: float | None
    """On the pump's meter."""
    days_since: float | None = None
    """Days since the rebuild before."""
    hours_since: float | None = None
    """Hours run since then; None where either meter was not read, or another pump stood there."""
    doubt: str | None = None
    """Why the hours cannot be counted on, or None."""


@dataclass(frozen=True, kw_only=True)
class OwnRebuild(Rebuild):
    """One rebuild of the pump whose page it is, with what is shown of it there."""

    technician: str | None
    source: str
    """As the archive calls it."""
    job_id: str | None
    signed: bool
    clock_doubt: str | None


_AnyRebuild = TypeVar("_AnyRebuild", bound=Rebuild)
_RECORD = ArchivedRecord
#: What :class:`Rebuild` has, in its order. Never the record's own text, which is a hundred times as much.
_NARROW = (
    _RECORD.id, _RECORD.pump_tag, _RECORD.pump_serial, _RECORD.work_order, _RECORD.sheet_id,
    _RECORD.started_at, _RECORD.running_hours,
)  # fmt: skip
_OWN = (_RECORD.technician, _RECORD.source, _RECORD.job_id, _RECORD.signed, _RECORD.clock_doubt)


@dataclass(frozen=True)
class PumpRow:
    """A pump as a list shows it."""

    name: PumpName
    sheet_id: str
    """One that it was rebuilt by: the last by name, where there are several."""
    rebuilds: int
    last: datetime | None


def rebuilds_of(session: Session, name: PumpName) -> list[OwnRebuild]:
    """Return a pump's rebuilds in their order; those that nobody dated come first.

    Args:
        session: any.
        name: of the pump.
    """
    wanted = select(*_NARROW, *_OWN).where(ArchivedRecord.stands, _is(name)).order_by(ArchivedRecord.id)
    found = [
        OwnRebuild(
            number, _named(tag, serial), serial, work_order, sheet_id, at, hours,
            technician=technician, source=source, job_id=job_id, signed=signed, clock_doubt=doubt,
        )
        for number, tag, serial, work_order, sheet_id, at, hours, technician, source, job_id, signed, doubt
        in session.execute(wanted)
    ]  # fmt: skip
    return in_order(found)


def rebuilds_of_type(session: Session, sheet_id: str, most: int) -> list[Rebuild]:
    """Return the newest rebuilds by a sheet, all pumps, in their order.

    Args:
        session: any.
        sheet_id: of the pump's type.
        most: how many at most, the newest.
    """
    newest = _newest(select(*_NARROW), sheet_id, most)
    found = [
        Rebuild(number, _named(tag, serial), serial, work_order, of_sheet, at, hours)
        for number, tag, serial, work_order, of_sheet, at, hours in session.execute(newest)
    ]
    return [one for of_pump in by_pump(found).values() for one in in_order(of_pump)]


def newest_of_type(session: Session, sheet_id: str, most: int) -> list[tuple[int, PumpName]]:
    """Return the newest rebuilds' numbers in the archive and their pumps; arguments as above."""
    narrow = select(ArchivedRecord.id, ArchivedRecord.pump_tag, ArchivedRecord.pump_serial)
    rows = session.execute(_newest(narrow, sheet_id, most))
    return [(number, _named(tag, serial)) for number, tag, serial in rows]


def by_pump(rebuilds: Sequence[Rebuild]) -> dict[PumpName, list[Rebuild]]:
    """Return rebuilds by the pump; those of a pump that nobody named are left out."""
    found: dict[PumpName, list[Rebuild]] = {}
    for one in rebuilds:
        if one.name.tag or one.name.serial:
            found.setdefault(one.name, []).append(one)
    return found


def pumps(session: Session, like: str = "") -> tuple[list[PumpRow], int]:
    """Return the pumps that were rebuilt last, and how many there are in all.

    Args:
        session: any.
        like: part of a tag or serial number; empty for all.
    """
    tag, serial = ArchivedRecord.pump_tag, func.max(ArchivedRecord.pump_serial)
    # A pump without a tag is one by its serial number.
    alone = func.coalesce(tag, ArchivedRecord.pump_serial)
    wanted = select(
        tag, serial, func.max(ArchivedRecord.sheet_id), func.count(), func.max(ArchivedRecord.started_at)
    ).where(ArchivedRecord.stands, alone.is_not(None))
    if like:
        part = f"%{_plain(like)}%"
        wanted = wanted.where(
            or_(tag.ilike(part, escape="\\"), ArchivedRecord.pump_serial.ilike(part, escape="\\"))
        )
    wanted = wanted.group_by(tag, alone)
    count = session.scalar(select(func.count()).select_from(wanted.subquery())) or 0
    newest = wanted.order_by(func.max(ArchivedRecord.started_at).desc().nulls_last(), alone).limit(MOST_PUMPS)
    rows = [
        PumpRow(PumpName(of_tag, None if of_tag else of_serial), sheet_id, times, last)
        for of_tag, of_serial, sheet_id, times, last in session.execute(newest)
    ]
    return rows, count


def types(session: Session) -> list[tuple[str, int]]:
    """Return the sheets that rebuilds were made by, and how many of each."""
    wanted = select(ArchivedRecord.sheet_id, func.count()).where(ArchivedRecord.stands)
    rows = session.execute(wanted.group_by(ArchivedRecord.sheet_id).order_by(ArchivedRecord.sheet_id))
    return [(sheet_id, count) for sheet_id, count in rows]


def in_order(rebuilds: Sequence[_AnyRebuild]) -> list[_AnyRebuild]:
    """Return one pump's rebuilds oldest first, with what passed since the one before."""
    ordered = sorted(rebuilds, key=lambda one: (one.at is not None, one.at.timestamp() if one.at else 0.0))
    found: list[_AnyRebuild] = ordered[:1]
    for before, one in pairwise(ordered):
        days = doubt = run = None
        if before.at is not None and one.at is not None:
            days = (one.at - before.at).total_seconds() / 86400
        if before.hours is not None and one.hours is not None:
            other = before.serial and one.serial and before.serial != one.serial
            doubt = "another pump stood here before" if other else None
            if one.hours < before.hours and not other:
                doubt = "the meter showed less than the time before"
            run = None if doubt else one.hours - before.hours
        found.append(replace(one, days_since=days, hours_since=run, doubt=doubt))
    return found


def _is(name: PumpName) -> ColumnElement[bool]:
    if name.tag:
        return ArchivedRecord.pump_tag == name.tag
    return ArchivedRecord.pump_tag.is_(None) & (ArchivedRecord.pump_serial == name.serial)


def _newest(query: Any, sheet_id: str, most: int) -> Any:
    query = query.where(ArchivedRecord.stands, ArchivedRecord.sheet_id == sheet_id)
    return query.order_by(ArchivedRecord.started_at.desc().nulls_last(), ArchivedRecord.id.desc()).limit(most)


def _named(tag: str | None, serial: str | None) -> PumpName:
    return PumpName(tag, None if tag else serial)


def _plain(text: str) -> str:
    return text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
