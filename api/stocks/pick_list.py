"""A pick list before a job: what the sheet renews, and what history says may be wanted besides."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.archive.remembered import remembered
from api.history.rebuilds import PumpName, newest_of_type, rebuilds_of
from api.statistics.intervals import wilson
from api.stocks.stock_numbers import Kept, Kind, StockList
from api.store.archive_tables import ArchivedEntry
from api.store.asked_at_once import at_once
from shared.job_sheet import JobSheet
from shared.sheet_entries import Part, words_of

#: Rebuilds of a pump that are looked back on, and of its type.
MOST_OF_PUMP, MOST_OF_TYPE = 5, 300
#: Of a pump's rebuilds at least so many must have renewed a part before it is taken along for that.
_LEAST_TIMES = 2


@dataclass(frozen=True)
class Pick:
    """A line of the list."""

    kind: Kind
    name: str
    pieces: int | None
    """None of a consumable, of which the sheet does not say how much."""
    sure: bool
    """The sheet renews it; else history says that it may be wanted."""
    why: str
    kept: Kept | None

    @property
    def words(self) -> str:
        """What it is called."""
        return words_of(self.name)

    @property
    def lacking(self) -> float | None:
        """Pieces that are short; None where nobody counted, 0 where there are enough."""
        if self.kept is None or self.kept.on_hand is None or self.pieces is None:
            return None
        return max(0.0, self.pieces - self.kept.on_hand)


def pick_list(session: Session, sheet: JobSheet, pump: PumpName | None) -> list[Pick]:
    """Return what to take along for a rebuild.

    Args:
        session: any.
        sheet: that it is worked by.
        pump: which; None where that is not known yet.
    """
    stock = StockList(session)
    own = [one.record_id for one in rebuilds_of(session, pump)[-MOST_OF_PUMP:]] if pump else []
    of_type = [number for number, _ in _newest(session, sheet.id)]
    renewed = remembered(session, ("renewed of a type", sheet.id), lambda: _renewed(session, of_type))
    before = _renewed(session, set(own).difference(of_type))
    renewed = {part: renewed.get(part, set()) | before.get(part, set()) for part in {*renewed, *before}}
    sure = sheet_picks(stock, sheet)
    taken = {one.name for one in sure}
    picks = [one for one in sure if one.kind == "part"]
    for part in sheet.parts:
        if part.part in taken or part.policy == "renew":
            continue
        why = _why(part, own, of_type, renewed)
        if why:
            kept = stock.kept(sheet, sheet.id, "part", part.part)
            picks.append(Pick("part", part.part, part.quantity, False, why, kept))
    return [*picks, *(one for one in sure if one.kind == "consumable")]


def sheet_picks(stock: StockList, sheet: JobSheet) -> list[Pick]:
    """Return what the sheet itself asks for, whatever happened before: parts, then consumables."""
    picks: list[Pick] = []
    for part in sheet.parts:
        if part.policy != "renew" or _inner(sheet, part.part):
            continue
        kept = stock.kept(sheet, sheet.id, "part", part.part)
        picks.append(Pick("part", part.part, part.quantity, True, "the sheet renews it", kept))
    for consumable in sheet.consumables:
        goes_on = ", ".join(words_of(one) for one in consumable.for_)
        kept = stock.kept(sheet, sheet.id, "consumable", consumable.name)
        why = f"for {goes_on}" if goes_on else "on the sheet"
        picks.append(Pick("consumable", consumable.name, None, True, why, kept))
    return picks


def kits_on_hand(picks: Sequence[Pick]) -> tuple[int | None, list[Pick]]:
    """Return for how many rebuilds the sheet's parts are on hand, and which of them run out first.

    Args:
        picks: of a sheet; only what it renews counts.

    Returns:
        None where nobody counted some of them, and those that nobody counted; else the number, and the parts
        that allow no more.
    """
    wanted = [one for one in picks if one.sure and one.kind == "part" and one.pieces]
    uncounted = [one for one in wanted if one.kept is None or one.kept.on_hand is None]
    if uncounted or not wanted:
        return None, uncounted
    kits = {one.name: int((one.kept.on_hand or 0) // (one.pieces or 1)) for one in wanted if one.kept}
    fewest = min(kits.values())
    return fewest, [one for one in wanted if kits[one.name] == fewest]


def _inner(sheet: JobSheet, name: str) -> bool:
    """Return whether a part comes in the box of another that is renewed."""
    return any(part.policy == "renew" and name in sheet.covered_by(part.part) for part in sheet.parts)


def _renewed(session: Session, rebuilds: Collection[int]) -> dict[str, set[int]]:
    """Return by part in which rebuilds it was surely renewed."""
    ids = sorted(rebuilds)
    found: dict[str, set[int]] = {}
    for some in at_once(ids):
        wanted = select(ArchivedEntry.part, ArchivedEntry.record_id).where(
            ArchivedEntry.record_id.in_(some), ArchivedEntry.kind == "part",
            ArchivedEntry.what == "renewed", ArchivedEntry.fate.is_(None),
            ArchivedEntry.needs_review.is_(False),
        )  # fmt: skip
        for part, record_id in session.execute(wanted):
            found.setdefault(part or "", set()).add(record_id)
    return found


def _why(part: Part, own: Sequence[int], of_type: Sequence[int], renewed: Mapping[str, set[int]]) -> str:
    """Return why history says to take a part along; empty where it does not."""
    records = renewed.get(part.part, set())
    mine = sum(one in records for one in own)
    if mine >= _LEAST_TIMES and 2 * mine >= len(own):
        return f"renewed in {mine} of this pump's last {len(own)} rebuilds"
    theirs = sum(one in records for one in of_type)
    if of_type and wilson(theirs, len(of_type)).low > 0.5:
        return f"renewed in {theirs} of the type's last {len(of_type)} rebuilds"
    return ""


def pumps_of(session: Session, sheet_id: str) -> list[PumpName]:
    """Return the pumps that were rebuilt by a sheet lately."""
    names = {name for _, name in _newest(session, sheet_id) if name.tag or name.serial}
    return sorted(names, key=lambda one: one.shown)


def _newest(session: Session, sheet_id: str) -> list[tuple[int, PumpName]]:
    return remembered(
        session, ("newest of a type", sheet_id), lambda: newest_of_type(session, sheet_id, MOST_OF_TYPE)
    )
