"""Edges close beside one that was found: the two sides of a chamfer, a step with its shadow, a rim.

A fit that starts wide settles between two edges a few pixels apart, or on the stronger one. So the ground
close to every well seen edge is searched over all radii and shifts of the centre: what lies deeper or higher
than the edge is shifted by the view.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture.face.ring_curves import Edge, Hits, edge_of, fit_near
from capture.face.ring_disc import Disc
from capture.face.ring_frame import Curve

Array = NDArray[np.float64]

#: Edges beside which others are looked for, and how well those are seen.
_GUIDES, _GUIDE_SUPPORT = 10, 0.5
#: How far to both sides, shares of the radius, and least rows of the disc.
_REACH, _LEAST_ROWS = 0.045, 8
#: Shifts of the centre tried, to each side, and how far they go: as far as the reach is a view of 45 degrees.
_SHIFTS, _SHIFTED = 4, 0.6
#: Share of the circle on which another edge is seen.
_SEEN = 0.5
#: Columns of the disc taken together.
_EVERY = 3
#: Edges nearer than this, rows of the disc round about, are one; kept beside one guide, and in all.
_SAME_ROWS, _BESIDE, _MOST = 1.2, 6, 24


def near_edges(disc: Disc, known: list[Edge]) -> list[Edge]:
    """Find edges close beside known ones that are not known yet, the best seen first."""
    hits = Hits(disc)
    ridge = _ridge(disc)
    found: list[Edge] = []
    for guide in _guides(known):
        for curve in _beside(disc, ridge, guide):
            fitted = fit_near(hits, curve)
            edge = edge_of(hits, fitted) if fitted is not None else None
            if edge is not None and edge.support >= _SEEN and not _known(hits, edge, [*known, *found]):
                found.append(edge)
    found.sort(key=lambda edge: -edge.support)
    return found[:_MOST]


def _guides(known: list[Edge]) -> list[Curve]:
    strong = [edge for edge in known if edge.support >= _GUIDE_SUPPORT]
    strong.sort(key=lambda edge: -edge.support * np.log1p(edge.strength))
    return [edge.curve for edge in strong[:_GUIDES]]


def _ridge(disc: Disc) -> NDArray[np.bool_]:
    """Return where an edge is seen give or take a row, columns taken together, shape = (rows, few)."""
    rows, columns = disc.hits.shape
    threes = disc.hits[:, : columns // _EVERY * _EVERY].reshape(rows, -1, _EVERY)
    few = np.asarray(threes.any(axis=2), np.bool_)
    wide = few.copy()
    wide[1:] |= few[:-1]
    wide[:-1] |= few[1:]
    return wide


def _beside(disc: Disc, ridge: NDArray[np.bool_], guide: Curve) -> list[Curve]:
    """Search radius and shift about a curve; return the best curve at each radius that stands out."""
    rows, columns = ridge.shape
    angle = np.asarray((np.arange(columns) + 0.5 - 0.5 / _EVERY) * (2 * np.pi / columns), np.float64)
    base = disc.row(guide.radius(angle))
    reach = max(_LEAST_ROWS, int(np.ceil(_REACH * float(base.mean()))))
    offsets = np.arange(-reach, reach + 1)
    at = np.rint(base).astype(np.int32)[None] + np.arange(-2 * reach, 2 * reach + 1)[:, None]
    window = ridge[np.clip(at, 0, rows - 1), np.arange(columns)] & (at >= 0) & (at < rows)
    shifts = np.linspace(-_SHIFTED * reach, _SHIFTED * reach, 2 * _SHIFTS + 1)
    b, c = (grid.ravel() for grid in np.meshgrid(shifts, shifts))
    inside = np.hypot(b, c) <= _SHIFTED * reach
    b, c = b[inside], c[inside]
    swing = np.rint(b[:, None] * np.cos(angle) + c[:, None] * np.sin(angle)).astype(np.int32)
    at = (swing + 2 * reach) * columns + np.arange(columns, dtype=np.int32)
    flat = window.ravel()
    count = np.stack([np.count_nonzero(flat.take(at + one * columns), axis=1) for one in offsets])
    share = count / columns
    best = share.argmax(axis=1)
    height = share.max(axis=1)
    pitch = float(disc.radii[1] - disc.radii[0])
    curves = []
    for one in _peaks(height)[:_BESIDE]:
        size = guide.size + float(offsets[one]) * pitch
        shift = np.array([b[best[one]], c[best[one]]]) * pitch
        moved = (guide.size * guide.waves[:2] + shift) / size
        curves.append(Curve(size, np.concatenate([moved, guide.waves[2:]])))
    return curves


def _peaks(height: Array) -> list[int]:
    """Return the places that are highest among their neighbours, the highest first."""
    padded = np.pad(height, 2, constant_values=-1.0)
    beside = np.stack([padded[:-4], padded[1:-3], padded[3:-1], padded[4:]])
    high = np.flatnonzero((height >= beside.max(axis=0)) & (height >= _SEEN))
    return sorted((int(one) for one in high), key=lambda one: -height[one])


def _known(hits: Hits, edge: Edge, known: list[Edge]) -> bool:
    pitch = float(hits.disc.radii[1] - hits.disc.radii[0])
    mine = edge.curve.size * (1.0 + hits.few @ edge.curve.waves)
    return any(
        float(np.abs(mine - one.curve.size * (1.0 + hits.few @ one.curve.waves)).mean()) < _SAME_ROWS * pitch
        for one in known
        if abs(one.curve.size - edge.curve.size) < 3 * _SAME_ROWS * pitch
    )
