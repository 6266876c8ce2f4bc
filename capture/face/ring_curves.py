"""The edges in an unrolled disc: pieces of line that run on, fitted as ellipses."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.middle import middle
from capture.face.ring_disc import Disc
from capture.face.ring_frame import Curve, waves

Array = NDArray[np.float64]
Index = NDArray[np.int64]

#: A piece that starts a curve reaches over so many degrees at least.
_LEAST_DEG = 24
#: A circle smaller than this share of the disc is texture or a screw.
_LEAST_SIZE = 0.15
#: Pieces tried in a disc, the longest first; fewer where the tilt is not known and the look is rough.
_MOST_PIECES, _FEW_PIECES = 60, 24
#: Two curves are one if they lie apart by less than this share of the radius, or so many pixels, round about.
_SAME_SHARE, _SAME_PX = 0.005, 1.2
#: Half width of the band, in shares of the radius, whose hits are fitted, step by step.
_WIDTHS = (0.03, 0.015, 0.007)
#: How far a curve may be shifted (share of its radius), and stretched before and after the tilt is known: the
#: prior of the fit. Once it is known, all edges of the part share it but for a little perspective.
_SHIFT, _STRETCH, _STRETCH_KNOWN = 0.15, 0.12, 0.008
#: A longer piece may hold branches of two edges: it starts a curve from every such part of it as well.
_PART_DEG = 75
#: Rounds of a robust fit; where only a rough answer is wanted half of them.
_ROUNDS = 4
#: A start of which so much lies on a found curve gives nothing new.
_EXPLAINED = 0.7


@dataclass(frozen=True, slots=True, eq=False)
class Edge:
    """A curve and how well it is seen."""

    curve: Curve
    support: float
    """Share of the circle, as far as in the picture, on which the edge is seen."""
    sign: float
    """Of the step outwards: 1 if brighter (or the colour more) outside all round, -1 if inside."""
    strength: float
    """Median size of the step where seen, usual steps."""


def find_edges(disc: Disc, tilt_known: bool = False, least: float = 0.3, most: int = 24) -> list[Edge]:
    """Find the curves of a disc, the best seen first.

    Args:
        disc: unrolled.
        tilt_known: the disc's frame has the tilt of the part already.
        least: support below which a curve is left out.
        most: curves to return.
    """
    row, column = np.nonzero(disc.hits)
    if len(row) < 20:
        return []
    points = Hits(disc) if tilt_known else Hits(disc, _STRETCH, _ROUNDS // 2)
    found: list[Edge] = []
    most_pieces = _MOST_PIECES if tilt_known else _FEW_PIECES
    for piece in _pieces(disc, row, column)[:most_pieces]:
        if _explained(points, piece, found):
            continue
        edge = _edge(points, piece)
        if edge is not None and edge.support >= least and not _known(edge, found, points):
            found.append(edge)
    found.sort(key=lambda edge: -edge.support)
    return found[:most]


class Hits:
    """All hits of a disc with what the fits need of them."""

    def __init__(self, disc: Disc, stretch: float = _STRETCH_KNOWN, rounds: int = _ROUNDS) -> None:
        self.rounds = rounds
        row, column = np.nonzero(disc.hits)
        self.disc = disc
        self.stretch = stretch
        self.column = column
        self.radius = disc.radii[row] + (disc.radii[1] - disc.radii[0]) * _between(disc, row, column)
        self.step = disc.step[row, column].astype(np.float64)
        self.angles = disc.angles
        self.waves_of_columns = waves(self.angles)
        self.few = self.waves_of_columns[::8]
        self.waves = self.waves_of_columns[column]
        self.terms = np.column_stack([np.ones(len(column)), self.waves])
        self.size = np.abs(self.step)
        self.first = disc.radii[0]
        self.pitch = disc.radii[1] - disc.radii[0]


def _between(disc: Disc, row: Index, column: Index) -> Array:
    """How far the extreme lies from its row, by a parabola, in rows."""
    size = np.abs(disc.step)
    before, here, after = size[row - 1, column], size[row, column], size[row + 1, column]
    bend = before - 2 * here + after
    return np.asarray(
        np.where(bend < -1e-6, 0.5 * (before - after) / np.minimum(bend, -1e-6), 0.0), np.float64
    )


def _pieces(disc: Disc, row: Index, column: Index) -> list[Index]:
    """Indices of the hits of each connected piece, the longest first; signs are kept apart."""
    columns = disc.columns
    least = _LEAST_DEG * columns / 360
    sign = disc.step[row, column] > 0
    pieces: list[Index] = []
    for one in (True, False):
        chosen = np.flatnonzero(sign == one)
        canvas = np.zeros(disc.hits.shape, np.uint8)
        canvas[row[chosen], column[chosen]] = 1
        wider = cv2.dilate(canvas, np.ones((1, 3), np.uint8))
        _, labels = cv2.connectedComponents(wider, connectivity=8)
        label = labels[row[chosen], column[chosen]]
        order = np.argsort(label, kind="stable")
        cuts = np.flatnonzero(np.diff(label[order])) + 1
        for part in np.split(order, cuts):
            if len(part) >= least:
                pieces += [chosen[part], *_parts(chosen[part], column, _PART_DEG * columns // 360)]
    pieces.sort(key=lambda part: -len(part))
    return pieces


def _parts(piece: Index, column: Index, wide: int) -> list[Index]:
    """Cut a long piece by columns."""
    if len(piece) < 1.5 * wide:
        return []
    which = column[piece] // wide
    parts = [piece[which == one] for one in np.unique(which)]
    return [part for part in parts if len(part) >= wide // 2]


def _explained(points: Hits, piece: Index, found: list[Edge]) -> bool:
    """Whether most of a piece lies on one well seen curve that steps the same way."""
    sign = np.sign(points.step[piece[0]])
    for edge in found:
        if edge.support > 0.6 and edge.sign * sign > 0.2:
            off = points.radius[piece] - edge.curve.size * (1 + points.waves[piece] @ edge.curve.waves)
            if np.count_nonzero(np.abs(off) < 1.5) > _EXPLAINED * len(piece):
                return True
    return False


def _edge(points: Hits, piece: Index) -> Edge | None:
    """Fit a piece, then all that lies on its curve and steps the same way, narrowing.

    A piece that runs far round says by itself where its curve lies; a short one must look further.
    """
    curve = _fitted(points, piece, Curve(middle(points.radius[piece]), np.zeros(4)))
    sign = points.step[piece[0]]
    share = len(piece) / points.disc.columns
    for wide in _WIDTHS[(share > 0.25) + (share > 0.5) :]:
        near = _near(points, curve, wide)
        near = near[points.step[near] * sign > 0]
        if len(near) < 12:
            return None
        curve = _fitted(points, near, curve)
    return edge_of(points, curve)


def fit_near(points: Hits, curve: Curve) -> Curve | None:
    """Fit a curve to the hits close beside it; None where there are too few."""
    for _ in range(2):
        near = _near(points, curve, 0.004)
        if len(near) < 12:
            return None
        curve = _fitted(points, near, curve)
    return curve


def hits_beside(points: Hits, curve: Curve, within: float) -> tuple[Array, Array]:
    """Return radius and angle (radians, picture sense) of the hits so near to a curve, shape = (n,) each."""
    off = np.abs(points.radius - curve.size * (1 + points.waves @ curve.waves))
    near = off < within
    return points.radius[near], points.angles[points.column[near]]


def _near(points: Hits, curve: Curve, wide: float) -> Index:
    """Indices of hits within a share of the radius, or two pixels."""
    off = np.abs(points.radius - curve.size * (1 + points.waves @ curve.waves))
    return np.flatnonzero(off < max(wide * curve.size, 1.5))


def _fitted(points: Hits, chosen: Index, start: Curve) -> Curve:
    """Robust least squares of size and waves, held by the prior."""
    basis = points.terms.take(chosen, axis=0)
    radius = points.radius.take(chosen)
    across = np.ascontiguousarray(basis.T)
    answer = start.size * np.concatenate([[1.0], start.waves])
    sigma = max(0.004 * start.size, 1.0)
    prior = np.array([0.0, _SHIFT, _SHIFT, points.stretch, points.stretch]) * start.size
    hold = np.diag(np.concatenate([[0.0], (sigma / prior[1:]) ** 2]))
    half = len(chosen) // 2
    for _ in range(points.rounds):
        left = np.abs(radius - basis @ answer)
        order = left.copy()
        order.partition(half)
        spread = max(1.4826 * float(order[half]), 0.5)
        left *= 0.5 / spread
        left *= left
        left += 1.0
        left *= left
        weighed = across / left
        solved = cv2.solve(weighed @ basis + hold, (weighed @ radius)[:, None], flags=cv2.DECOMP_CHOLESKY)[1]
        answer = np.asarray(solved, np.float64).ravel()
    return Curve(float(answer[0]), np.asarray(answer[1:] / answer[0], np.float64))


def edge_of(points: Hits, curve: Curve) -> Edge | None:
    """Count the columns in which the curve is seen, by the sign that prevails."""
    if not _LEAST_SIZE < curve.size / points.disc.radii[-1] < 1.05:
        return None
    near = _near(points, curve, 0.005)
    if len(near) < 12:
        return None
    columns = points.disc.columns
    best = np.zeros(columns)
    at, step, size = points.column.take(near), points.step.take(near), points.size.take(near)
    np.maximum.at(best, at, size)
    signed = np.zeros(columns)
    strongest = size >= best.take(at)
    signed[at[strongest]] = step[strongest]
    radius = curve.size * (1.0 + points.waves_of_columns @ curve.waves)
    last = len(points.disc.radii)
    rows = np.rint((radius - points.first) / points.pitch)
    reached = (rows >= 0) & (rows < last)
    rows = np.minimum(np.maximum(rows, 0), last - 1).astype(np.intp)
    reached &= points.disc.inside[rows, np.arange(columns)]
    seen = signed[signed != 0]
    return Edge(
        curve,
        len(seen) / max(int(np.count_nonzero(reached)), columns // 3),
        float(np.sign(seen).mean()),
        middle(np.abs(seen)),
    )


def _known(edge: Edge, found: list[Edge], points: Hits) -> bool:
    """Whether the curve is already there; the better seen one stays."""
    mine = edge.curve.size * (1.0 + points.few @ edge.curve.waves)
    for index, other in enumerate(found):
        least = max(_SAME_SHARE * edge.curve.size, _SAME_PX)
        apart = np.abs(mine - other.curve.size * (1.0 + points.few @ other.curve.waves))
        if float(apart.sum()) < least * len(apart):
            if edge.support > other.support:
                found[index] = edge
            return True
    return False
