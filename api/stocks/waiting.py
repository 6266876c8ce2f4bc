"""Work orders that wait: tags were printed, no job was begun; what they will want beside what is on hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.history.rebuilds import PumpName
from api.stocks.pick_list import Pick, pick_list
from api.store.sheets import newest_sheet
from api.store.tables import BenchJob, JobTag
from shared.job_sheet import JobSheet

#: Work orders that are looked at, the oldest tags first.
MOST = 60


@dataclass(frozen=True)
class Waiting:
    """A work order that waits."""

    work_order: str
    pump: PumpName | None
    sheet_id: str
    picks: tuple[Pick, ...]


@dataclass(frozen=True)
class Short:
    """A stock number of which there is less than the waiting work orders want."""

    number: str
    words: str
    wanted: int
    on_hand: float
    work_orders: tuple[str, ...]


def waiting_orders(session: Session, sheets: Mapping[str, JobSheet]) -> list[Waiting]:
    """Return the work orders that wait, with their pick lists, the oldest tag first.

    Args:
        session: any.
        sheets: by id, as the shop works by them now.
    """
    begun = select(BenchJob.work_order)
    tags = select(JobTag).where(JobTag.work_order.not_in(begun)).order_by(JobTag.made_at).limit(MOST)
    found: list[Waiting] = []
    for tag in session.scalars(tags):
        sheet = sheets.get(tag.sheet_id) or newest_sheet(session, tag.sheet_id)
        if sheet is None:
            continue
        pump = PumpName(tag.pump_tag) if tag.pump_tag else None
        picks = tuple(pick_list(session, sheet, pump))
        found.append(Waiting(tag.work_order, pump, tag.sheet_id, picks))
    return found


def shorts_of(waiting: list[Waiting]) -> list[Short]:
    """Return what is short for all that waits together: of what the sheets renew, where somebody counted."""
    wanted: dict[str, int] = {}
    orders: dict[str, list[str]] = {}
    shown: dict[str, Pick] = {}
    for one in waiting:
        for pick in one.picks:
            if not pick.sure or pick.pieces is None or pick.kept is None or pick.kept.on_hand is None:
                continue
            number = pick.kept.number
            wanted[number] = wanted.get(number, 0) + pick.pieces
            orders.setdefault(number, []).append(one.work_order)
            shown[number] = pick
    found: list[Short] = []
    for number, pieces in sorted(wanted.items()):
        kept = shown[number].kept
        if kept is not None and kept.on_hand is not None and pieces > kept.on_hand:
            found.append(
                Short(number, shown[number].words, pieces, kept.on_hand, tuple(dict.fromkeys(orders[number])))
            )
    return found
