"""Scores: grooves that run along the circles of the face, all round or a part of it.

The edges of a wear track run along too, but they are steps: a row of pixels counts as a line only as far
as it is lighter, or darker, than the rows on both of its sides. Lay that runs round is a line beside a
line everywhere: it makes the spread of the response, and a score stands out of it. A score is followed
both ways from where it is clearest, and may drift to a neighbouring row from piece to piece.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.extremes import threshold
from capture.face.ground import MAD, Ground, Map, along_rows
from capture.face.mark import Mark

#: Columns are put together to pieces of so many degrees; a shorter score is found as a short line.
_PIECE_DEG = 2.0
#: How far beside a line its sides are looked at, in rows: fine lines, and lines up to 8 pixels wide ...
_ASIDE = (3, 6)
#: ... unless this is more than such a share of the face: a narrow track is no line.
_ASIDE_SHARE = 0.12
#: Pieces in a row that a score is looked for over; the last is all round.
_RUNS = (3, 6, 12, 30, 90, 180)
#: Standard deviations below and above which no threshold lies.
_BOUNDS = (6.0, 12.0)
#: Rows at each edge of the face that the edge blurs, and the share of all rows in which it draws lines.
_RIM, _RIM_SHARE = 3, 0.12
_LEAST_ARC_DEG = 6.0
#: Share of a score's own strength down to which it goes on.
_ON = 0.35
#: As with parts: chance has no JPEG blocks.
_SURE = 1.35
_MOST_SCORES = 12
#: A line is at least so strong for the step between its two sides.
_LEAST_OF_STEP = 0.5
#: One scratch across a score is no score: a piece strays from its row by no more standard deviations.
_MOST_OF_ONE_PIECE = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class _Trace:
    rows: NDArray[np.intp]
    pieces: NDArray[np.intp]
    first: int
    """Of the pieces, before the ring is closed: may be negative."""


def scores_of(ground: Ground) -> list[Mark]:
    """Return the scores of a face."""
    pieces = _pieces(ground)
    marks: list[Mark] = []
    for aside in _ASIDE:
        if aside <= max(_ASIDE[0], _ASIDE_SHARE * len(ground.radii)):
            new = _found(ground, pieces, aside)
            marks += [mark for mark in new if not any(_same(mark, other) for other in marks)]
    return marks


def _found(ground: Ground, pieces: Map, aside: int) -> list[Mark]:
    response = _Response(pieces, aside)
    # Long runs carry a score into sectors where it is not: chance is told from short ones.
    level = _SURE * threshold(response.best(_RUNS[:2])[0], *_BOUNDS)
    marks: list[Mark] = []
    left = pieces.copy()
    for _ in range(_MOST_SCORES):
        best, runs = response.best(_RUNS)
        row, piece = (int(v) for v in np.unravel_index(int(best.argmax()), best.shape))
        strength = float(best[row, piece]) / level
        if strength <= 1:
            break
        trace = _followed(response.lines, row, piece, int(runs[row, piece]))
        # Taken out, so that no long run finds it a second time.
        for at, column in zip([row, *trace.rows], [piece, *trace.pieces], strict=True):
            _bridge(left[:, column], at, aside)
        response = _Response(left, aside, response.deviation)
        if len(trace.pieces) * _PIECE_DEG >= _LEAST_ARC_DEG and _is_line(pieces, trace, aside):
            marks.append(_mark(ground, trace, strength))
    return marks


def _is_line(pieces: Map, trace: _Trace, aside: int) -> bool:
    """Tell a line from the overshoot beside a step, as sharpening and JPEG draw it along a track's edge."""
    last = len(pieces) - 1
    three = [np.clip(trace.rows + away, 0, last) for away in (0, -aside, aside)]
    middle, up, down = (float(np.mean(pieces[rows, trace.pieces])) for rows in three)
    line = max(middle - max(up, down), min(up, down) - middle)
    return line > _LEAST_OF_STEP * abs(up - down)


def _bridge(column: Map, row: int, aside: int) -> None:
    """Draw a straight line from one side of a score to the other in one column of pieces."""
    low, high = max(0, row - aside - 1), min(len(column) - 1, row + aside + 1)
    column[low : high + 1] = np.linspace(column[low], column[high], high - low + 1)


def _same(one: Mark, other: Mark) -> bool:
    apart = abs((one.angle_deg - other.angle_deg + 180) % 360 - 180)
    along = apart < (one.arc_deg + other.arc_deg) / 2
    width = 0.5 * (one.r_out - one.r_in + other.r_out - other.r_in)
    return along and one.r_in < other.r_out + width and other.r_in < one.r_out + width


def _rim(rows: int, aside: int) -> int:
    return max(_RIM + aside, round(_RIM_SHARE * rows))


def _pieces(ground: Ground) -> Map:
    """Return the brightness of the pieces of each row, strays cut off, shape = (rows, pieces)."""
    flat = ground.lit.flat[ground.lit.strip.face_rows]
    size = (round(360 / _PIECE_DEG), flat.shape[0])
    usual = np.median(flat[:, ::3], axis=1, keepdims=True)
    shown = np.asarray(np.where(ground.hidden, usual, flat), np.float32)
    pieces = np.asarray(cv2.resize(shown, size, interpolation=cv2.INTER_AREA), np.float32)
    step = np.diff(pieces, axis=1)
    spread = MAD * float(np.median(np.abs(step))) / math.sqrt(2)
    most = _MOST_OF_ONE_PIECE * max(spread, 1e-4)
    around = along_rows(pieces, pieces.shape[1], 9)
    return np.asarray(around + np.clip(pieces - around, -most, most), np.float32)


class _Response:
    """How far a row strays from both of its sides, for runs of pieces of several lengths."""

    def __init__(self, pieces: Map, aside: int, deviation: dict[int, float] | None = None) -> None:
        self._pieces = pieces
        self._aside = aside
        self.deviation = {} if deviation is None else dict(deviation)

    @property
    def lines(self) -> Map:
        """Stray of each piece from the nearer of its sides, light positive, shape = (rows, pieces)."""
        light, dark = self._sided(self._pieces)
        return np.where(light > dark, np.maximum(light, 0), -np.maximum(dark, 0))

    def best(self, lengths: tuple[int, ...]) -> tuple[Map, Map]:
        """Return the largest response of a run of pieces at each piece, and the run's length in pieces."""
        count = self._pieces.shape[1]
        best = np.zeros(self._pieces.shape, np.float32)
        runs = np.ones(self._pieces.shape, np.float32)
        twice = np.hstack([np.zeros((len(best), 1), np.float32), self._pieces, self._pieces])
        sums = np.cumsum(twice, axis=1, dtype=np.float64)
        for run in lengths:
            mean = np.asarray((sums[:, run : run + count] - sums[:, :count]) / run, np.float32)
            light, dark = self._sided(mean)
            if run not in self.deviation:
                self.deviation[run] = self._deviation(mean, run)
            response = np.roll(np.maximum(light, dark) / self.deviation[run], run // 2, axis=1)
            runs[response > best] = run
            np.maximum(best, response, out=best)
        rim = _rim(len(best), self._aside)
        best[:rim], best[-rim:] = 0, 0
        return best, runs

    def _sided(self, values: Map) -> tuple[Map, Map]:
        middle, up, down = self._three(values)
        return middle - np.maximum(up, down), np.minimum(up, down) - middle

    def _three(self, values: Map) -> tuple[Map, Map, Map]:
        """Return the row and its two sides; a wide line is the mean of three rows."""
        aside = self._aside
        tall = np.pad(values, ((aside, aside), (0, 0)), mode="edge")
        if aside > _ASIDE[0]:
            tall = np.asarray(cv2.blur(tall, (1, 3)), np.float32)
        rows = len(values)
        return tall[aside : aside + rows], tall[:rows], tall[2 * aside : 2 * aside + rows]

    def _deviation(self, mean: Map, run: int) -> float:
        middle, up, down = self._three(mean)
        rim = _rim(len(mean), self._aside)
        straight = (middle - (up + down) / 2)[rim:-rim]
        own = MAD * float(np.median(np.abs(straight - np.median(straight))))
        # Lay that runs round makes long runs restless; pieces that know nothing of each other are the least.
        first = self.deviation.get(_RUNS[0], own * math.sqrt(run / _RUNS[0]))
        return max(own, first * math.sqrt(_RUNS[0] / run), 1e-5)


def _followed(lines: Map, row: int, piece: int, run: int) -> _Trace:
    """Follow a score both ways from a piece of it."""
    count = lines.shape[1]
    around = np.arange(piece - run // 2, piece + run // 2 + 1)
    sign = float(np.sign(np.take(lines[row], around, mode="wrap").sum()))
    wrapped = np.hstack([lines[:, -2:], lines, lines[:, :2]]) * sign
    smooth = np.mean(np.lib.stride_tricks.sliding_window_view(wrapped, 5, axis=1), axis=2)
    near = np.arange(piece - run // 4, piece + run // 4 + 1)
    level = _ON * float(np.median(np.take(smooth[row], near, mode="wrap")))
    ahead = _one_way(smooth, row, piece, 1, level)
    back = _one_way(smooth, row, piece, -1, level)[: count - len(ahead)]
    rows = np.array([*back[::-1], row, *ahead], np.intp)
    first = piece - len(back)
    return _Trace(rows[:count], np.arange(first, first + len(rows))[:count] % count, first)


def _one_way(smooth: Map, row: int, piece: int, step: int, level: float) -> list[int]:
    """Return the rows of the pieces that follow, up to where the score ends."""
    rows: list[int] = []
    missing = 0
    for far in range(1, smooth.shape[1]):
        column = (piece + step * far) % smooth.shape[1]
        low = max(0, row - 1)
        near = smooth[low : row + 2, column]
        # It drifts only where the neighbouring row is clearly the better one.
        best = low + int(near.argmax())
        if smooth[best, column] > 1.15 * smooth[row, column]:
            row = best
        missing = 0 if smooth[row, column] > level else missing + 1
        rows.append(row)
        if missing > 1:
            break
    return rows[: len(rows) - missing] if missing else rows


def _mark(ground: Ground, trace: _Trace, strength: float) -> Mark:
    pixel = float(ground.radii[1] - ground.radii[0])
    radii = ground.radii[trace.rows]
    arc = min(len(trace.pieces) * _PIECE_DEG, 360.0)
    return Mark(
        kind="score", angle_deg=(trace.first + len(trace.pieces) / 2) * _PIECE_DEG % 360, arc_deg=arc,
        r_in=float(radii.min()) - pixel, r_out=float(radii.max()) + pixel,
        length=math.radians(arc) * float(radii.mean()), score=1 - 0.5 / strength,
    )  # fmt: skip
