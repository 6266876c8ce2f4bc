"""What a line along the circles of a face is measured by, before its measures are weighed as a score."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.face.ground import MAD, Ground, Map
from capture.face.track import Track

#: More strength than this, and a lead (logarithm) over the others beyond this, tell no more.
_MOST_STRENGTH, _MOST_LEAD = 7.0, 1.5
_TINY = 1e-3
#: An edge found beside the true one draws lines no deeper than this, outer radii.
_EDGE_ERROR = 0.0125
#: Beside a track's edge is what lies within so many pixels of it.
_TRACK_EDGE_PX = 3.0
#: Pieces beyond the ends of a line that its inside is held against.
_BEYOND = 3


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """A line followed along the ring."""

    rows: NDArray[np.intp]
    pieces: NDArray[np.intp]
    first: int
    """Of the pieces, before the ring is closed: may be negative."""
    aside: int
    """How far beside it its sides were looked at, rows."""
    strength: float
    """As a multiple of what chance makes."""


def measures_of(
    trace: Trace, others: list[Trace], pieces: Map, ground: Ground, track: Track | None
) -> dict[str, float]:
    """Measure one line.

    Args:
        trace: the line.
        others: all lines of the face.
        pieces: brightness of the pieces of each row, shape = (rows, pieces).
        ground: the face.
        track: its wear track, where it is known.
    """
    count = pieces.shape[1]
    middle, up, down = (_along(pieces, trace, away) for away in (0, -trace.aside, trace.aside))
    line = middle - (up + down) / 2
    mean = float(line.mean())
    step = abs(float((up - down).mean()))
    sided = max(float((middle - np.maximum(up, down)).mean()), float((np.minimum(up, down) - middle).mean()))
    spread = max(MAD * float(np.median(np.abs(line - np.median(line)))), _TINY)
    radii = ground.radii[trace.rows]
    away = min(float((1 - radii).mean()), float((radii - ground.bore).mean()))
    arc = len(trace.pieces) / count
    stronger = [other.strength for other in others if other is not trace]
    return {
        "strength": math.log(min(trace.strength, _MOST_STRENGTH)),
        "arc": math.log(arc * 360),
        "all_round": float(arc > 0.97),
        "contrast": math.log(abs(mean) + 0.005),
        "step": min(step / (abs(mean) + _TINY), 3.0),
        "sided": max(min(sided / (abs(mean) + _TINY), 1.0), -1.0),
        "constant_sign": float(np.mean(line * np.sign(mean) > 0)),
        "clear": math.log(abs(mean) / spread + 0.1),
        "wobble": float(np.mean(np.abs(np.diff(trace.rows)))) if len(trace.rows) > 1 else 0.0,
        "rim": 1.0 / (1.0 + away / ground.pixel / 4.0),
        "rim_shallow": float(away < _EDGE_ERROR),
        "wide": float(trace.aside > 3),
        "dark": float(mean < 0),
        "track_edge": _by_track(trace, radii, count, ground, track),
        "rivals": math.log1p(len(stronger)),
        "lead": max(-_MOST_LEAD, min(math.log(trace.strength / max([*stronger, 1.0])), _MOST_LEAD)),
        "ends": _ends(trace, pieces, mean),
        "fine": math.log(len(ground.radii)),
    }  # fmt: skip


def _along(pieces: Map, trace: Trace, away: int) -> NDArray[np.float64]:
    rows = np.clip(trace.rows + away, 0, len(pieces) - 1)
    return np.asarray(pieces[rows, trace.pieces], np.float64)


def _by_track(
    trace: Trace, radii: NDArray[np.float64], count: int, ground: Ground, track: Track | None
) -> float:
    """Return the share of a line that lies beside an edge of the wear track."""
    if track is None:
        return 0.0
    edges = track.edges(np.asarray((trace.pieces + 0.5) * (360.0 / count), np.float64))
    if edges is None:
        return 0.0
    apart = np.min([np.abs(radii - np.asarray(edge)) for edge in edges], axis=0)
    return float(np.mean(apart < _TRACK_EDGE_PX * ground.pixel))


def _ends(trace: Trace, pieces: Map, mean: float) -> float:
    """Return how much of a line goes on beyond its ends, in its own contrast; 0 of one all round."""
    count = pieces.shape[1]
    if len(trace.pieces) > count - 2 * _BEYOND - 2:
        return 0.0
    far = np.arange(1, _BEYOND + 1)
    last = trace.first + len(trace.pieces) - 1
    beyond: list[float] = []
    for row, columns in ((trace.rows[0], trace.first - far), (trace.rows[-1], last + far)):
        three = [pieces[np.clip(row + away, 0, len(pieces) - 1), columns % count].mean()
                 for away in (0, -trace.aside, trace.aside)]  # fmt: skip
        beyond.append(float(three[0] - (three[1] + three[2]) / 2))
    return float(np.clip(np.mean(beyond) / (mean if abs(mean) > _TINY else _TINY), -1, 1))
