"""Findings that come back: the same part found the same way in several rebuilds of one pump."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.history.as_found import ALARM
from api.history.rebuilds import PumpName, Rebuild
from api.statistics.chance import holm, more_often
from api.store.archive_tables import ArchivedEntry
from api.store.asked_at_once import at_once

#: What is found on a part that is as it should be.
SOUND = frozenset({"good", "even_wear"})


@dataclass(frozen=True)
class Finding:
    """A part found in a condition, in one rebuild."""

    record_id: int
    part: str
    condition: str


@dataclass(frozen=True)
class Repeat:
    """The same finding in several rebuilds of a pump, beside how often others of its type have it."""

    part: str
    condition: str
    rebuilds: tuple[Rebuild, ...]
    """In which it was found, oldest first."""
    of: int
    """Rebuilds of the pump."""
    others: int
    """Rebuilds of the type's other pumps in which it was found."""
    of_others: int
    chance: float = 1.0
    """How often chance alone has it so much more often, everything that was looked at considered."""

    @property
    def times(self) -> int:
        """In how many rebuilds."""
        return len(self.rebuilds)

    @property
    def stands_out(self) -> bool:
        """Whether it is found more often than on the others, which is no chance."""
        return self.chance < ALARM


def findings_of(session: Session, rebuilds: Sequence[Rebuild]) -> list[Finding]:
    """Return what was surely found amiss in rebuilds, each finding once a rebuild.

    Args:
        session: any.
        rebuilds: whose.
    """
    ids = [one.record_id for one in rebuilds]
    found: list[Finding] = []
    for some in at_once(ids):
        wanted = (
            select(ArchivedEntry.record_id, ArchivedEntry.part, ArchivedEntry.what)
            .where(
                ArchivedEntry.record_id.in_(some), ArchivedEntry.kind == "condition",
                ArchivedEntry.fate.is_(None), ArchivedEntry.needs_review.is_(False),
                ArchivedEntry.what.not_in(SOUND),
            )
            .distinct()
        )  # fmt: skip
        found += [
            Finding(record_id, part or "", what or "") for record_id, part, what in session.execute(wanted)
        ]
    return found


@dataclass(frozen=True)
class Tally:
    """The findings of a type counted once, for all its pumps."""

    of_type: Mapping[PumpName, Sequence[Rebuild]]
    """The rebuilds of all its pumps."""
    rebuilds: int
    of_pump: Mapping[PumpName, Mapping[tuple[str, str], frozenset[int]]]
    """By pump, part and condition the numbers of the rebuilds in which it was found."""
    everywhere: Counter[tuple[str, str]]
    """In how many rebuilds of all pumps."""


def tally_of(of_type: Mapping[PumpName, Sequence[Rebuild]], findings: Sequence[Finding]) -> Tally:
    """Count the findings of a type.

    Args:
        of_type: the rebuilds of all its pumps.
        findings: of these rebuilds; others are left out.
    """
    pump_of = {one.record_id: pump for pump, these in of_type.items() for one in these}
    of_pump: dict[PumpName, dict[tuple[str, str], set[int]]] = {}
    everywhere: Counter[tuple[str, str]] = Counter()
    for one in findings:
        pump = pump_of.get(one.record_id)
        if pump is not None:
            key = (one.part, one.condition)
            of_pump.setdefault(pump, {}).setdefault(key, set()).add(one.record_id)
            everywhere[key] += 1
    frozen = {pump: {key: frozenset(ids) for key, ids in found.items()} for pump, found in of_pump.items()}
    return Tally(of_type, len(pump_of), frozen, everywhere)


def repeats_of(name: PumpName, tally: Tally) -> list[Repeat]:
    """Return what came back on a pump, what stands out first.

    Args:
        name: of the pump.
        tally: of its type.
    """
    own = tally.of_type.get(name, ())
    others = tally.rebuilds - len(own)
    made = [
        Repeat(
            part, condition, tuple(one for one in own if one.record_id in ids), len(own),
            tally.everywhere[part, condition] - len(ids), others,
        )
        for (part, condition), ids in tally.of_pump.get(name, {}).items()
    ]  # fmt: skip
    if all(one.times <= 1 for one in made):
        return []
    # All that was found on this pump was looked at, on each pump of the type.
    chances = holm([more_often(one.times, one.of, one.others, one.of_others) for one in made])
    judged = [
        replace(one, chance=min(1.0, chance * len(tally.of_type)) if others else 1.0)
        for one, chance in zip(made, chances, strict=True)
        if one.times > 1
    ]
    return sorted(judged, key=lambda one: (not one.stands_out, -one.times, one.part, one.condition))
