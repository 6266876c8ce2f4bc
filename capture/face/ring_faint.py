"""Edges too faint to be followed: seen only when the step is averaged all round, along an edge known already.

The edge to a small chamfer, or of a face no brighter than what it stands on, may be weaker than the noise at
every single place. It runs along the strong edges of the same part, at another radius.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture.face.ring_curves import Edge
from capture.face.ring_disc import Disc
from capture.face.ring_frame import Curve, waves

Array = NDArray[np.float64]

#: Edges whose course is followed, and faint ones kept in all.
_GUIDES, _MOST = 3, 10
#: A guide is seen on so much of its circle.
_GUIDE_SUPPORT = 0.8
#: Guides whose centres lie nearer than this share of the radius give the same.
_SAME_COURSE = 0.004
#: Directions that are averaged each; steps beyond this many usual ones count as this many.
_SECTORS, _MOST_STEP = 24, 5.0
#: Power of mean and first wave over that of the rest, at least.
_CLEAR = 12.0
#: Nearer than this (share of the radius, rows) to a known edge it is that edge.
_SAME_SHARE, _SAME_ROWS = 0.008, 3.0


def faint_edges(disc: Disc, known: list[Edge]) -> list[Edge]:
    """Find faint edges that run along known ones, the clearest first."""
    found: list[tuple[float, Edge]] = []
    for guide in _guides(disc, known):
        found += _along(disc, guide, known)
    found.sort(key=lambda pair: -pair[0])
    kept: list[Edge] = []
    for _, edge in found:
        if all(abs(edge.curve.size - one.curve.size) > _SAME_ROWS * _pitch(disc) for one in kept):
            kept.append(edge)
    return kept[:_MOST]


def _pitch(disc: Disc) -> float:
    return float(disc.radii[1] - disc.radii[0])


def _guides(disc: Disc, known: list[Edge]) -> list[Curve]:
    """The strong edges of different courses."""
    kept: list[Curve] = []
    strong = [edge for edge in known if edge.support >= _GUIDE_SUPPORT]
    for edge in sorted(strong, key=lambda edge: -edge.support * np.log1p(edge.strength)):
        shift = edge.curve.size * edge.curve.waves[:2]
        apart = [float(np.hypot(*(shift - one.size * one.waves[:2]))) for one in kept]
        if all(one > max(_SAME_COURSE * edge.curve.size, 0.7) for one in apart):
            kept.append(edge.curve)
    return kept[:_GUIDES]


def _along(disc: Disc, guide: Curve, known: list[Edge]) -> list[tuple[float, Edge]]:
    """Average the step along the guide's course at every radius."""
    tilt = np.concatenate([np.zeros(2), guide.waves[2:]])
    shift = guide.size * (waves(disc.angles) @ np.concatenate([guide.waves[:2], np.zeros(2)]))
    rows = disc.row(disc.radii[:, None] * (1.0 + waves(disc.angles) @ tilt) + shift)
    at = np.clip(np.round(rows), 0, len(disc.radii) - 1).astype(np.int32)
    steps = np.clip(disc.step[at, np.arange(disc.columns)], -_MOST_STEP, _MOST_STEP)
    means = steps.reshape(len(disc.radii), _SECTORS, -1).mean(axis=2).astype(np.float64)
    angles = (np.arange(_SECTORS) + 0.5) * (2 * np.pi / _SECTORS)
    basis = np.column_stack([np.ones(_SECTORS), np.sqrt(2) * np.cos(angles), np.sqrt(2) * np.sin(angles)])
    parts = means @ basis / _SECTORS
    model = parts @ basis.T
    power = (parts**2).sum(axis=1)
    rest = ((means - model) ** 2).sum(axis=1) / (_SECTORS - 3)
    clear = power * _SECTORS / (3 * rest + 1e-3)
    found = []
    for row in _peaks(power):
        size = float(disc.radii[row])
        if clear[row] < _CLEAR or _near(size, guide, disc, known):
            continue
        curve = Curve(size, np.concatenate([guide.size * guide.waves[:2] / size, guide.waves[2:]]))
        agreed = float(np.mean(means[row] * model[row] > 0.2 * power[row]))
        sign = float(parts[row, 0] / np.sqrt(power[row]))
        found.append((float(clear[row]), Edge(curve, agreed, sign, float(np.sqrt(power[row])))))
    return found


def _peaks(power: Array) -> NDArray[np.int64]:
    middle = power[2:-2]
    high = (middle >= power[1:-3]) & (middle > power[3:-1]) & (middle > power[:-4]) & (middle > power[4:])
    return np.flatnonzero(high) + 2


def _near(size: float, guide: Curve, disc: Disc, known: list[Edge]) -> bool:
    """Whether a well seen edge of much the same course has this radius already."""
    least = max(_SAME_SHARE * size, _SAME_ROWS * _pitch(disc))
    return any(abs(edge.curve.size - size) < least and edge.support > 0.5 for edge in known)
