"""The roll-up read for a page: how often what was wanted of a sheet, and how often it was lacking.

Two questions to the database, whatever the number of records; clips are looked for in the records
themselves only once somebody opens a figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal, get_args

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from api.lessons.rate_trend import Month
from api.store.archive_tables import ArchivedCount, ArchivedRecord

Kind = Literal["step", "reading", "photo", "part_decision", "limit", "corrected"]
#: In the order in which pages show them.
KINDS: tuple[Kind, ...] = get_args(Kind)


@dataclass(frozen=True)
class Asked:
    """What a page is about."""

    sheet_id: str
    since: str = ""
    """First month, YYYY-MM; empty for the beginning."""
    until: str = ""
    """Last month; empty for now."""

    def months(self, query: Any, column: Any) -> Any:
        """Return a query within the period."""
        if self.since:
            query = query.where(column >= self.since)
        return query.where(column <= self.until) if self.until else query


@dataclass(frozen=True)
class Tally:
    """How often, of a group."""

    wanted: int
    lacking: int


Told = dict[tuple[str, str], list[Month]]
"""Months by kind and key."""
Groups = dict[tuple[str, str], dict[str, Tally]]
"""Tallies by group, by kind and key."""


def sheets_counted(session: Session) -> Sequence[tuple[str, int]]:
    """Return the sheets that records were filed under, with how many, most first."""
    query = (
        select(ArchivedCount.sheet_id, func.sum(ArchivedCount.wanted))
        .where(ArchivedCount.kind == "record")
        .group_by(ArchivedCount.sheet_id)
        .order_by(func.sum(ArchivedCount.wanted).desc(), ArchivedCount.sheet_id)
    )
    return [(str(sheet), int(count)) for sheet, count in session.execute(query)]


def months_counted(session: Session, asked: Asked, kind: str | None = None, key: str | None = None) -> Told:
    """Return what every month counts, by kind and key; records themselves are of kind ``record``.

    Args:
        session: one that reads.
        asked: sheet and period.
        kind: only this one.
        key: only this one.
    """
    count = ArchivedCount
    query = select(count.kind, count.key, count.month, func.sum(count.wanted), func.sum(count.lacking)).where(
        count.sheet_id == asked.sheet_id
    )
    query = asked.months(_only(query, kind, key), count.month)
    query = query.group_by(count.kind, count.key, count.month).order_by(count.kind, count.key, count.month)
    rows: Any = session.execute(query)
    found: Told = {}
    for its_kind, its_key, month, wanted, lacking in rows:
        found.setdefault((its_kind, its_key), []).append(Month(month, int(wanted), int(lacking)))
    return found


def groups_counted(
    session: Session,
    asked: Asked,
    by: Literal["crew", "technician_id"],
    kind: str | None = None,
    key: str | None = None,
) -> Groups:
    """Return tallies by crew, or by technician (his account's number as text); what has none is left out."""
    count = ArchivedCount
    column = count.crew if by == "crew" else count.technician_id
    query = select(count.kind, count.key, column, func.sum(count.wanted), func.sum(count.lacking)).where(
        count.sheet_id == asked.sheet_id, column.is_not(None)
    )
    query = asked.months(_only(query, kind, key), count.month).group_by(count.kind, count.key, column)
    rows: Any = session.execute(query)
    found: Groups = {}
    for its_kind, its_key, group, wanted, lacking in rows:
        found.setdefault((its_kind, its_key), {})[str(group)] = Tally(int(wanted), int(lacking))
    return found


def people_of_crews(session: Session, sheet_id: str) -> dict[str, int]:
    """Return how many people are known to have worked in each crew.

    A crew of one or two is those people, and comparing it is comparing them.
    """
    count = ArchivedCount
    by_account = (
        select(count.crew, func.count(func.distinct(count.technician_id)))
        .where(count.sheet_id == sheet_id, count.kind == "record", count.crew.is_not(None))
        .group_by(count.crew)
    )
    found = {str(crew): int(people) for crew, people in session.execute(by_account)}
    unknown = [crew for crew, people in found.items() if people == 0]
    if unknown:
        # Records brought in from before have no accounts; their names must do.
        record = ArchivedRecord
        by_name = (
            select(record.crew, func.count(func.distinct(record.technician)))
            .where(record.sheet_id == sheet_id, record.crew.in_(unknown), record.stands)
            .group_by(record.crew)
        )
        found |= {str(crew): int(people) for crew, people in session.execute(by_name)}
    return found


def _only(query: Any, kind: str | None, key: str | None) -> Any:
    if kind is not None:
        query = query.where(ArchivedCount.kind == kind)
    return query if key is None else query.where(ArchivedCount.key == key)
