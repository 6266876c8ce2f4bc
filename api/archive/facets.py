"""What a search can be narrowed by: what the newest of its hits are of, and how many of them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from api.archive.full_text import is_among
from api.archive.picture_words import photographed
from api.archive.pictures import Pictured
from api.archive.searching import Found, Search, is_answerable
from api.store.archive_tables import ArchivedCount, ArchivedEntry, ArchivedRecord, ArchivedUtterance
from api.store.tables import Account

#: So many of the newest hits are looked at, however many there are: the page then takes no longer.
LOOKED_AT = 300
#: Names of a facet that are offered at most.
_MOST = 60
Counted = list[tuple[str, int]]
"""Name and how many hits; the most first, or by name where nobody is to be compared."""


@dataclass
class Facets:
    """By what a search can be narrowed."""

    pump_type: Counted = field(default_factory=list)
    part: Counted = field(default_factory=list)
    condition: Counted = field(default_factory=list)
    action: Counted = field(default_factory=list)
    deviation: Counted = field(default_factory=list)
    stage: Counted = field(default_factory=list)
    month: Counted = field(default_factory=list)
    """Oldest first."""
    technician: list[str] = field(default_factory=list)
    """By name and without numbers: a search compares nobody."""
    hits: int = 0
    capped: bool = False
    """There are more hits; these are the newest."""


def facets_of(session: Session, wanted: Search, found: Found) -> Facets:
    """Return what a search can be narrowed by; of one that asks for nothing, what there is.

    Args:
        session: of the archive.
        wanted: the search.
        found: by it, having looked at :data:`LOOKED_AT`; of a later page the hits from there on.
    """
    if not is_answerable(wanted, found.terms):
        return _of_all(session)
    ids = set(found.newest[:LOOKED_AT])
    facets = Facets(hits=len(ids), capped=len(found.newest) > LOOKED_AT)
    if ids:
        _count_records(session, ids, facets)
        _count_entries(session, ids, facets)
    return facets


def also_of(facets: Facets, pictures: Sequence[Pictured]) -> Facets:
    """Return facets that offer what only pictures are of, too; without a number, which is of things said.

    Args:
        facets: of what was said.
        pictures: that were found.
    """
    for one in pictures:
        for name in ("pump_type", "part", "stage", "month"):
            value, counted = getattr(one, name), getattr(facets, name)
            if value and value != "either" and all(value != known for known, _ in counted):
                counted.append((value, 0))
    names = {one.technician for one in pictures if one.technician}
    facets.technician = sorted({*facets.technician, *names})[:_MOST]
    return facets


def _count_records(session: Session, ids: set[int], facets: Facets) -> None:
    columns = (ArchivedRecord.pump_type, ArchivedRecord.technician, ArchivedRecord.month)
    asked = select(*columns).join(ArchivedUtterance, ArchivedUtterance.record_id == ArchivedRecord.id)
    types: Counter[str] = Counter()
    months: Counter[str] = Counter()
    names: set[str] = set()
    asked = asked.where(is_among(session, ArchivedUtterance.id, ids))
    for pump_type, technician, month in session.execute(asked):
        types[pump_type] += 1
        months[month] += 1
        names |= {technician} if technician else set()
    facets.pump_type = _most(types)
    facets.month = sorted((month, count) for month, count in months.items() if month)
    facets.technician = sorted(names)[:_MOST]


def _count_entries(session: Session, ids: set[int], facets: Facets) -> None:
    entry, said = ArchivedEntry, ArchivedUtterance
    asked = (
        select(said.id, entry.kind, entry.part, entry.what, entry.stage)
        .join(entry, (entry.record_id == said.record_id) & (entry.utterance == said.number))
        .where(is_among(session, said.id, ids))
    )
    seen: dict[str, set[tuple[str, int]]] = {
        name: set() for name in ("part", "condition", "action", "deviation", "stage")
    }
    by_kind = {"condition": "condition", "part": "action", "deviation": "deviation"}
    for number, kind, part, what, stage in session.execute(asked):
        if part:
            seen["part"].add((part, number))
        if kind in by_kind and what:
            seen[by_kind[kind]].add((what, number))
        if stage in ("as_found", "as_left"):
            seen["stage"].add((stage, number))
    for name, pairs in seen.items():
        setattr(facets, name, _most(Counter(one for one, _ in pairs)))


def _most(counted: Counter[str]) -> Counted:
    """Return the names of most hits, equals by name, so that the same search offers the same each time."""
    return sorted(counted.items(), key=lambda one: (-one[1], one[0]))[:_MOST]


def _of_all(session: Session) -> Facets:
    """Return what the whole archive can be narrowed by, out of the roll-up, which stays small."""
    cell = ArchivedCount
    asked = (
        select(cell.pump_type, cell.month, cell.technician_id, func.sum(cell.wanted))
        .where(cell.kind == "record")
        .group_by(cell.pump_type, cell.month, cell.technician_id)
    )
    types: Counter[str] = Counter()
    months: Counter[str] = Counter()
    people: set[int] = set()
    for pump_type, month, person, count in session.execute(asked):
        types[pump_type] += count
        months[month] += count
        people |= {person} if person else set()
    decided = select(cell.key).where(cell.kind == "part_decision").distinct()
    names = session.scalars(select(Account.shown_name).where(Account.id.in_(people)))
    return Facets(
        pump_type=_most(types),
        part=[(part, 0) for part in sorted({*session.scalars(decided), *photographed(session)})],
        month=sorted((month, count) for month, count in months.items() if month),
        technician=sorted(names),
    )
