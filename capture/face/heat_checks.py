"""Heat checks: many fine cracks across the face, side by side over a sector."""

from __future__ import annotations

import math
from dataclasses import dataclass

from capture.face.mark import Mark
from capture.face.parts import Part

#: A check runs across the face within so many degrees and is at least so slender.
_ACROSS_DEG, _SLENDER = 35.0, 2.5
#: Checks that run together make one part that lies along the face and is anything but straight (root mean
#: square by length): two checks at least. Of 11 such parts of sketches 5 lay on checks.
_TOGETHER_BENT, _TOGETHER = 0.06, 2
#: So many side by side are a network, not scratches that happen to be neighbours.
_LEAST = 5
#: Neighbours are no further apart than this, outer radii.
_APART = 0.26
#: What lies beside a network is more of it, down to less upright and less slender: checks break up, join and
#: turn aside. No further from its end than this, outer radii.
_MORE_ACROSS_DEG, _MORE_SLENDER, _MORE_APART = 65.0, 1.8, 0.4


@dataclass(frozen=True, slots=True)
class _Sector:
    """Part of the ring, degrees; the end may lie beyond 360."""

    start: float
    end: float

    @property
    def arc(self) -> float:
        return min(self.end - self.start, 360.0)

    @property
    def middle(self) -> float:
        return (self.start + self.end) / 2

    def away(self, part: Part) -> float:
        """Degrees from the middle to the middle of a part, -180 to 180."""
        return (part.angle_deg - self.middle + 180) % 360 - 180

    def holds(self, part: Part) -> bool:
        return abs(self.away(part)) <= self.arc / 2

    def gap(self, part: Part) -> float:
        """Return how far beyond an end a part begins, outer radii."""
        beyond = abs(self.away(part)) - (self.arc + part.arc_deg) / 2
        return math.radians(beyond) * (part.r_in + part.r_out) / 2

    def with_(self, part: Part) -> _Sector:
        at, half = self.middle + self.away(part), part.arc_deg / 2
        return _Sector(min(self.start, at - half), max(self.end, at + half))


def heat_checks_of(parts: list[Part]) -> tuple[list[Mark], list[Part]]:
    """Return the sectors with heat checks, and the parts that belong to none."""
    fine = sorted((part for part in parts if _checks(part)), key=lambda part: part.angle_deg)
    marks: list[Mark] = []
    left = parts
    for group in sorted(_neighbours(fine), key=len, reverse=True):
        if sum(map(_checks, group)) >= _LEAST and group[0] in left:
            sector = _grown(_of(group), left)
            # What lies between the checks belongs to them: pieces of a check that broke apart.
            own = [part for part in left if sector.holds(part)]
            marks.append(_mark(sector, [part for part in own if _may_be_check(part)]))
            left = [part for part in left if part not in own]
    return marks, left


def _checks(part: Part) -> int:
    """Return how many checks a part is at least."""
    if part.slender < _SLENDER:
        return 0
    if part.direction_deg < _ACROSS_DEG:
        return 1
    return _TOGETHER if part.bend > _TOGETHER_BENT else 0


def _may_be_check(part: Part) -> bool:
    fine = part.direction_deg < _MORE_ACROSS_DEG and part.slender >= _MORE_SLENDER
    return fine or _checks(part) > 0


def _neighbours(parts: list[Part]) -> list[list[Part]]:
    """Return the runs of parts that lie close to one another, the ring closed."""
    if not parts:
        return []
    groups = [[parts[0]]]
    for part in parts[1:]:
        if _apart(groups[-1][-1], part) < _APART:
            groups[-1].append(part)
        else:
            groups.append([part])
    if len(groups) > 1 and _apart(groups[-1][-1], groups[0][0]) < _APART:
        groups[0] = groups.pop() + groups[0]
    return groups


def _apart(one: Part, other: Part) -> float:
    turn = (other.angle_deg - one.angle_deg) % 360
    return math.radians(turn) * (one.r_in + one.r_out) / 2


def _of(group: list[Part]) -> _Sector:
    start = group[0].angle_deg - group[0].arc_deg / 2
    end = group[-1].angle_deg + group[-1].arc_deg / 2
    return _Sector(start, start + (end - start) % 360)


def _grown(sector: _Sector, parts: list[Part]) -> _Sector:
    """Return a sector that reaches as far as checks go on beside it."""
    beside = [part for part in parts if _may_be_check(part) and not sector.holds(part)]
    while beside:
        nearest = min(beside, key=sector.gap)
        if sector.gap(nearest) > _MORE_APART:
            break
        beside.remove(nearest)
        sector = sector.with_(nearest)
    return sector


def _mark(sector: _Sector, checks: list[Part]) -> Mark:
    r_in, r_out = min(p.r_in for p in checks), max(p.r_out for p in checks)
    length = max(math.radians(sector.arc) * r_out, r_out - r_in)
    sure = max(1 - 0.5 / p.strength for p in checks)
    return Mark("heat_check", sector.middle % 360, sector.arc, r_in, r_out, length, sure)
