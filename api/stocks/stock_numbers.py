"""Stock numbers: which one a sheet's part or consumable is kept under, and what is on hand of it."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.store.stock_tables import StockItem, StockNumber
from api.store.tables import Account
from shared.errors import StockRefused
from shared.job_sheet import JobSheet

Kind = Literal["part", "consumable"]
_NUMBER = re.compile(r"[A-Za-z0-9][A-Za-z0-9 ./_-]{0,63}")
#: More of one thing no shop has on hand: it was mistyped.
MOST_ON_HAND = 1_000_000.0


@dataclass(frozen=True)
class Kept:
    """Where something is kept."""

    number: str
    on_hand: float | None
    """Pieces; None where nobody counted."""
    counted_at: datetime | None


class StockList:
    """The stock numbers of the shop, read once.

    Args:
        session: any.
    """

    def __init__(self, session: Session) -> None:
        self._items = {one.number: one for one in session.scalars(select(StockItem))}
        rows = session.scalars(select(StockNumber))
        self._numbers = {(one.sheet_id, one.kind, one.name): one.number for one in rows}

    def kept(self, sheet: JobSheet | None, sheet_id: str, kind: Kind, name: str) -> Kept | None:
        """Return where a part or consumable is kept: as the stores entered it, else as its sheet says.

        Args:
            sheet: that names it; None where nobody has it any more.
            sheet_id: its id.
            kind: part or consumable.
            name: as the sheet names it.
        """
        number = self._numbers.get((sheet_id, kind, name)) or _of_sheet(sheet, kind, name)
        if number is None:
            return None
        item = self._items.get(number)
        return Kept(number, item.on_hand if item else None, item.counted_at if item else None)


def keep_number(
    session: Session, *, sheet_id: str, kind: Kind, name: str, number: str, by: Account, now: datetime
) -> StockNumber:
    """Keep under which number something is kept.

    Args:
        session: one that writes.
        sheet_id: of the sheet that names it.
        kind: part or consumable.
        name: as the sheet (or a record) names it.
        number: as the shop writes it.
        by: who enters it.
        now: the moment.

    Raises:
        StockRefused: it is no stock number.
    """
    number = " ".join(number.split())
    if not _NUMBER.fullmatch(number):
        raise StockRefused(
            f"{number!r} is no stock number", expected="letters, digits, dot, dash, slash, 1 to 64"
        )
    _item(session, number)
    found = session.scalar(
        select(StockNumber).where(
            StockNumber.sheet_id == sheet_id, StockNumber.kind == kind, StockNumber.name == name
        )
    )
    if found is None:
        found = StockNumber(sheet_id=sheet_id, kind=kind, name=name)
        session.add(found)
    found.number, found.entered_at, found.entered_by = number, now, by.id
    session.flush()
    return found


def keep_count(session: Session, number: str, typed: str, *, by: Account, now: datetime) -> None:
    """Keep how many there are of a stock number.

    Args:
        session: one that writes.
        number: as the shop writes it.
        typed: pieces; empty: nobody knows any more.
        by: who counted.
        now: the moment.

    Raises:
        StockRefused: it is no amount, or no stock number.
    """
    plain = typed.strip()
    try:
        amount = float(plain) if plain else None
    except ValueError:
        amount = math.nan
    if amount is not None and not 0 <= amount <= MOST_ON_HAND:
        raise StockRefused(f"{plain!r} is no amount on hand", expected="pieces, like 4 or 2.5, no comma")
    if not _NUMBER.fullmatch(number):
        raise StockRefused(f"{number!r} is no stock number", remedy="enter the number first")
    item = _item(session, number)
    item.on_hand, item.counted_at, item.counted_by = amount, now, by.id


def _item(session: Session, number: str) -> StockItem:
    item = session.get(StockItem, number)
    if item is None:
        item = StockItem(number=number)
        session.add(item)
        session.flush()
    return item


def _of_sheet(sheet: JobSheet | None, kind: Kind, name: str) -> str | None:
    if sheet is None:
        return None
    if kind == "part":
        part = sheet.part_names.get(name)
        return part.stock_number if part else None
    return next((one.stock_number for one in sheet.consumables if one.name == name), None)
