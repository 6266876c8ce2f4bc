"""What rebuilds used: parts renewed and consumables put on, over a period and a type of pump.

A part counts once a rebuild, with the quantity that was said or else the sheet's. What is covered by a part
renewed with it (the faces of a seal) came in its box and is not counted again. What is not sure is a
question, never an amount.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from typing import Any

from sqlalchemy import Select, func, select
from sqlalchemy.orm import Session

from api.archive.remembered import remembered
from api.stocks.stock_numbers import Kept, Kind, StockList
from api.store.archive_tables import ArchivedEntry, ArchivedRecord
from api.store.sheets import newest_sheet
from api.store.tables import SheetText
from shared.job_sheet import JobSheet
from shared.sheet_entries import words_of


@dataclass(frozen=True)
class Period:
    """From one day to another, both in it, UTC."""

    first: datetime
    last: datetime

    @property
    def end(self) -> datetime:
        """The moment after its last day."""
        return self.last + timedelta(days=1)


@dataclass
class Used:
    """How much of one thing was used."""

    sheet_id: str
    kind: Kind
    name: str
    rebuilds: int = 0
    """In how many."""
    pieces: int = 0
    """Of a part; 0 of a consumable, of which nobody says how much."""
    as_sheet: int = 0
    """Pieces that nobody said and the sheet gives."""
    kept: Kept | None = None

    @property
    def words(self) -> str:
        """What it is called."""
        return words_of(self.name)


@dataclass(frozen=True)
class Doubt:
    """Something that the stores have to ask about."""

    text: str
    work_order: str | None = None
    job_id: str | None = None


@dataclass(frozen=True)
class Usage:
    """What was used in a period."""

    used: list[Used]
    doubts: list[Doubt]
    rebuilds: int

    @property
    def numberless(self) -> list[Used]:
        """What was used and has no stock number: questions."""
        return [one for one in self.used if one.kept is None]


@dataclass
class _Part:
    """What one rebuild says of one part."""

    actions: set[str] = field(default_factory=set)
    amounts: set[int] = field(default_factory=set)
    unsure: bool = False


def usage(session: Session, period: Period, sheet_id: str = "", *, with_drafts: bool = True) -> Usage:
    """Return what was used.

    Args:
        session: any.
        period: by when rebuilds began; those that nobody dated are in none.
        sheet_id: of a type of pump; empty for all.
        with_drafts: with records that nobody signed.
    """
    # What sheets say goes in as well, and may change while the archive does not.
    counted = ("usage", period, sheet_id, with_drafts, _sheets_now(session))
    found, doubts, rebuilds = remembered(
        session, counted, lambda: _counted(session, _records(period, sheet_id, with_drafts))
    )
    sheets = {one: newest_sheet(session, one) for one in {used.sheet_id for used in found}}
    stock = StockList(session)
    used_rows = [
        replace(one, kept=stock.kept(sheets[one.sheet_id], one.sheet_id, one.kind, one.name)) for one in found
    ]
    return Usage(used_rows, list(doubts), rebuilds)


def _sheets_now(session: Session) -> int:
    """Return how many sheets were ever kept: another number, another newest one."""
    return session.scalar(select(func.count()).select_from(SheetText)) or 0


def _counted(session: Session, records: Select[*tuple[Any, ...]]) -> tuple[list[Used], list[Doubt], int]:
    """Return what was used, in order and without stock numbers, what is to be asked, of how many rebuilds."""
    sheets: dict[str, JobSheet | None] = {}
    parts: dict[int, dict[str, _Part]] = {}
    consumables: dict[int, set[str]] = {}
    of_record: dict[int, tuple[str, str | None, str | None]] = {}
    for row in session.execute(records):
        of_record[row.record_id] = (row.sheet_id, row.work_order, row.job_id)
        if row.kind == "consumable":
            if not row.needs_review:
                consumables.setdefault(row.record_id, set()).add(row.what)
        elif row.kind == "part":
            _note(parts.setdefault(row.record_id, {}).setdefault(row.part, _Part()), row)
    for one in {sheet for sheet, _, _ in of_record.values()}:
        sheets[one] = newest_sheet(session, one)
    found: dict[tuple[str, Kind, str], Used] = {}
    doubts: list[Doubt] = []
    for record_id, (of_sheet, work_order, job_id) in of_record.items():
        sheet = sheets[of_sheet]
        for name, amount, said in _new_parts(parts.get(record_id, {}), sheet):
            used = found.setdefault((of_sheet, "part", name), Used(of_sheet, "part", name))
            used.rebuilds += 1
            used.pieces += amount
            used.as_sheet += 0 if said else amount
        doubts += [Doubt(text, work_order, job_id) for text in _asked(parts.get(record_id, {}))]
        for name in consumables.get(record_id, ()):
            found.setdefault((of_sheet, "consumable", name), Used(of_sheet, "consumable", name)).rebuilds += 1
    used_rows = sorted(
        found.values(), key=lambda one: (one.kind != "part", one.sheet_id, -one.pieces, one.name)
    )
    return used_rows, doubts, len(of_record)


def quarter_before(now: datetime) -> Period:
    """Return the ninety days before and with today."""
    today = now.astimezone(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    return Period(today - timedelta(days=90), today)


def _records(period: Period, sheet_id: str, with_drafts: bool) -> Select[*tuple[Any, ...]]:
    wanted = (
        select(
            ArchivedEntry.record_id, ArchivedEntry.kind, ArchivedEntry.part, ArchivedEntry.what,
            ArchivedEntry.quantity, ArchivedEntry.needs_review, ArchivedRecord.sheet_id,
            ArchivedRecord.work_order, ArchivedRecord.job_id,
        )
        .join(ArchivedRecord, ArchivedRecord.id == ArchivedEntry.record_id)
        .where(
            ArchivedRecord.stands, ArchivedRecord.started_at >= period.first,
            ArchivedRecord.started_at < period.end, ArchivedEntry.fate.is_(None),
            ArchivedEntry.kind.in_(("part", "consumable")),
        )
        .order_by(ArchivedEntry.id)
    )  # fmt: skip
    if sheet_id:
        wanted = wanted.where(ArchivedRecord.sheet_id == sheet_id)
    return wanted if with_drafts else wanted.where(ArchivedRecord.signed)


def _note(part: _Part, row: Any) -> None:
    if row.needs_review:
        part.unsure = part.unsure or row.what in ("renewed", "fitted")
        return
    part.actions.add(row.what)
    if row.what == "renewed" and row.quantity:
        part.amounts.add(round(row.quantity))


def _new_parts(parts: Mapping[str, _Part], sheet: JobSheet | None) -> Iterable[tuple[str, int, bool]]:
    """Yield each part that was surely renewed, how many pieces, and whether that was said."""
    renewed = {name for name, part in parts.items() if "renewed" in part.actions}
    in_a_box = {inner for name in renewed for inner in (sheet.covered_by(name) if sheet else ())}
    for name in sorted(renewed - in_a_box):
        amounts = parts[name].amounts
        if len(amounts) == 1:
            yield name, next(iter(amounts)), True
        elif not amounts:
            listed = sheet.part_names.get(name) if sheet else None
            yield name, listed.quantity if listed else 1, False
        else:
            yield name, max(amounts), True


def _asked(parts: Mapping[str, _Part]) -> Iterable[str]:
    for name, part in sorted(parts.items()):
        if len(part.amounts) > 1:
            said = " and ".join(str(one) for one in sorted(part.amounts))
            yield f"{words_of(name)}: {said} were said; {max(part.amounts)} are counted"
        if part.unsure:
            yield f"{words_of(name)}: what was said of a new one is not sure; none is counted"
        elif "fitted" in part.actions and not part.actions & {"renewed", "reused", "saved", "cleaned"}:
            yield f"{words_of(name)}: fitted, but nobody said whether it was new; none is counted"
