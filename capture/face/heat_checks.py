"""Heat checks: many fine cracks across the face, side by side over a sector."""

from __future__ import annotations

import math

from capture.face.mark import Mark
from capture.face.parts import Part

#: A check runs across the face within so many degrees and is at least so slender.
_ACROSS_DEG, _SLENDER = 35.0, 2.5
#: So many side by side are a network, not scratches that happen to be neighbours.
_LEAST = 5
#: Neighbours are no further apart than this, outer radii.
_APART = 0.26


def heat_checks_of(parts: list[Part]) -> tuple[list[Mark], list[Part]]:
    """Return the sectors with heat checks, and the parts that belong to none."""
    across = (part for part in parts if part.direction_deg < _ACROSS_DEG and part.slender >= _SLENDER)
    fine = sorted(across, key=lambda part: part.angle_deg)
    marks: list[Mark] = []
    taken: set[int] = set()
    for group in _neighbours(fine):
        if len(group) >= _LEAST:
            marks.append(_mark(group, parts, taken))
    return marks, [part for part in parts if id(part) not in taken]


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


def _mark(group: list[Part], parts: list[Part], taken: set[int]) -> Mark:
    start = group[0].angle_deg - group[0].arc_deg / 2
    end = group[-1].angle_deg + group[-1].arc_deg / 2
    arc = (end - start) % 360
    r_in, r_out = min(p.r_in for p in group), max(p.r_out for p in group)
    middle = (start + arc / 2) % 360
    for part in parts:
        # What lies between the checks belongs to them: pieces of a check that broke apart.
        if abs((part.angle_deg - middle + 180) % 360 - 180) <= arc / 2:
            taken.add(id(part))
    return Mark(
        "heat_check", middle, arc, r_in, r_out, max(math.radians(arc) * r_out, r_out - r_in),
        max(1 - 0.5 / p.strength for p in group),
    )  # fmt: skip
