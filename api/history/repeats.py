"""Findings that come back: the same part found the same way in several rebuilds of one pump."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.history.as_found import ALARM
from api.history.rebuilds import PumpName, Rebuild
from api.statistics.chance import holm, more_often
from api.store.archive_tables import ArchivedEntry

#: What is found on a part that is as it should be.
SOUND = frozenset({"good", "even_wear"})
_AT_ONCE = 5000


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
    for start in range(0, len(ids), _AT_ONCE):
        wanted = (
            select(ArchivedEntry.record_id, ArchivedEntry.part, ArchivedEntry.what)
            .where(
                ArchivedEntry.record_id.in_(ids[start : start + _AT_ONCE]), ArchivedEntry.kind == "condition",
                ArchivedEntry.fate.is_(None), ArchivedEntry.needs_review.is_(False),
                ArchivedEntry.what.not_in(SOUND),
            )
            .distinct()
        )  # fmt: skip
        found += [
            Finding(record_id, part or "", what or "") for record_id, part, what in session.execute(wanted)
        ]
    return found


def repeats_of(
    name: PumpName, of_type: Mapping[PumpName, Sequence[Rebuild]], findings: Sequence[Finding]
) -> list[Repeat]:
    """Return what came back on a pump, what stands out first.

    Args:
        name: of the pump.
        of_type: the rebuilds of all pumps of its type, its own among them.
        findings: of these rebuilds.
    """
    own = {one.record_id: one for one in of_type.get(name, ())}
    others = {one.record_id for pump, these in of_type.items() if pump != name for one in these}
    mine: dict[tuple[str, str], list[Rebuild]] = {}
    theirs: Counter[tuple[str, str]] = Counter()
    for one in findings:
        if one.record_id in own:
            mine.setdefault((one.part, one.condition), []).append(own[one.record_id])
        elif one.record_id in others:
            theirs[one.part, one.condition] += 1
    order = {record_id: number for number, record_id in enumerate(own)}
    made = [
        Repeat(
            part, condition, tuple(sorted(these, key=lambda one: order[one.record_id])), len(own),
            theirs[part, condition], len(others),
        )
        for (part, condition), these in mine.items()
    ]  # fmt: skip
    # All that was found on this pump was looked at, on each pump of the type.
    chances = holm([more_often(one.times, one.of, one.others, one.of_others) for one in made])
    judged = [
        Repeat(
            one.part, one.condition, one.rebuilds, one.of, one.others, one.of_others,
            min(1.0, chance * len(of_type)) if others else 1.0,
        )
        for one, chance in zip(made, chances, strict=True)
        if one.times > 1
    ]  # fmt: skip
    return sorted(judged, key=lambda one: (not one.stands_out, -one.times, one.part, one.condition))
