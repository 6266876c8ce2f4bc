"""Scores: grooves that run along the circles of the face, all round or a part of it.

The edges of a wear track run along too, but they are steps: a row of pixels counts as a line only as far
as it is lighter, or darker, than the rows on both of its sides. Lay that runs round is a line beside a
line everywhere: it makes the spread of the response, and a score stands out of it. A score is followed
both ways from where it is clearest, and may drift to a neighbouring row from piece to piece.
"""

from __future__ import annotations

import math

import cv2
import numpy as np

from capture.face.extremes import threshold
from capture.face.ground import MAD, Ground, Map, along_rows
from capture.face.mark import Mark
from capture.face.mark_belief import belief
from capture.face.middle import middles
from capture.face.score_measures import Trace, measures_of
from capture.face.track import Track

#: Columns are put together to pieces of so many degrees; a shorter score is found as a short line.
_PIECE_DEG = 2.0
#: How far beside a line its sides are looked at, in rows: fine lines, and lines up to 8 pixels wide ...
_ASIDE = (3, 6)
#: ... unless this is more than such a share of the face: a narrow track is no line.
_ASIDE_SHARE = 0.16
#: Pieces in a row that a score is looked for over; the last is all round.
_RUNS = (3, 6, 12, 30, 90, 180)
#: Standard deviations below and above which no threshold lies.
_BOUNDS = (6.0, 7.5)
_LEAST_ARC_DEG = 6.0
#: Share of a score's own strength down to which it goes on.
_ON = 0.35
#: A line this share as strong as chance makes may be a score: its measures tell.
_CHANCE = 0.9
#: Scores are one where their ends come so near, degrees, and so near across, in pixels: side by side, behind.
_GAP_DEG, _BESIDE_PX, _BEHIND_PX = 6.0, 3.0, 1.0
_MOST_SCORES = 12
#: What crosses circles by more than this share of its length is a scratch.
_SLANTED = 0.25
#: Share of what varies from row to row that makes a line doubtful.
_STRUCTURE = 0.4
#: One scratch across a score is no score: a piece strays from its row by no more standard deviations.
_MOST_OF_ONE_PIECE = 8.0


def put_together(scores: list[Mark], ground: Ground) -> list[Mark]:
    """Return the scores with pieces of one put together, and those that run along a surer one left out."""
    done: list[Mark] = []
    for score in sorted(scores, key=lambda mark: -mark.arc_deg):
        at = next((n for n, other in enumerate(done) if _touch(score, other, ground)), None)
        if at is None:
            done.append(score)
        else:
            done[at] = _united(done[at], score)
    return done


def _touch(one: Mark, other: Mark, ground: Ground) -> bool:
    gap = _ends_apart(one, other)
    between = max(one.r_in - other.r_out, other.r_in - one.r_out)
    # Side by side they are one groove and its edge; one behind the other they lie on one circle.
    return gap < _GAP_DEG and between < (_BESIDE_PX if gap < 0 else _BEHIND_PX) * ground.pixel


def _ends_apart(one: Mark, other: Mark) -> float:
    apart = abs((one.angle_deg - other.angle_deg + 180) % 360 - 180)
    return apart - (one.arc_deg + other.arc_deg) / 2


def _united(long: Mark, short: Mark) -> Mark:
    """Return a score with another piece of it; its radii stay those of the longer piece."""
    turn = (short.angle_deg - long.angle_deg + 180) % 360 - 180
    first = min(-long.arc_deg / 2, turn - short.arc_deg / 2)
    last = max(long.arc_deg / 2, turn + short.arc_deg / 2)
    arc = min(last - first, 360.0)
    return Mark(
        long.kind, (long.angle_deg + (first + last) / 2) % 360, arc, long.r_in, long.r_out,
        long.length * arc / long.arc_deg, max(long.score, short.score),
    )  # fmt: skip


def lines_of(ground: Ground, track: Track | None) -> list[tuple[Mark, dict[str, float]]]:
    """Return all lines along the circles that may be scores, with what they are measured by."""
    pieces = _pieces(ground)
    traces: list[Trace] = []
    for aside in _ASIDE:
        if aside <= max(_ASIDE[0], _ASIDE_SHARE * len(ground.radii)):
            new = _found(pieces, aside)
            traces += [trace for trace in new if not any(_same(trace, other, pieces) for other in traces)]
    lines: list[tuple[Mark, dict[str, float]]] = []
    for trace in traces:
        measures = measures_of(trace, traces, pieces, ground, track)
        lines.append((_mark(ground, trace, belief("score", measures)), measures))
    return lines


def _found(pieces: Map, aside: int) -> list[Trace]:
    response = _Response(pieces, aside)
    # Long runs carry a score into sectors where it is not: chance is told from short ones.
    level = _CHANCE * threshold(response.best(_RUNS[:2])[0], *_BOUNDS)
    traces: list[Trace] = []
    left = pieces.copy()
    for _ in range(_MOST_SCORES):
        best, runs = response.best(_RUNS)
        row, piece = (int(v) for v in np.unravel_index(int(best.argmax()), best.shape))
        strength = float(best[row, piece]) / level
        if strength <= 1:
            break
        trace = _followed(response.lines, row, piece, int(runs[row, piece]), aside, strength)
        # Taken out, so that no long run finds it a second time.
        for at, column in zip([row, *trace.rows], [piece, *trace.pieces], strict=True):
            _bridge(left[:, column], at, aside)
        response = _Response(left, aside, response.deviation)
        if len(trace.pieces) * _PIECE_DEG >= _LEAST_ARC_DEG:
            traces.append(trace)
    return traces


def _bridge(column: Map, row: int, aside: int) -> None:
    """Draw a straight line from one side of a score to the other in one column of pieces."""
    low, high = max(0, row - aside - 1), min(len(column) - 1, row + aside + 1)
    column[low : high + 1] = np.linspace(column[low], column[high], high - low + 1)


def _same(one: Trace, other: Trace, pieces: Map) -> bool:
    """Tell whether two lines run along each other."""
    count = pieces.shape[1]
    apart = abs((one.first + len(one.pieces) / 2 - other.first - len(other.pieces) / 2 + count / 2) % count)
    apart = abs(apart - count / 2)
    if apart >= (len(one.pieces) + len(other.pieces)) / 2:
        return False
    return bool(one.rows.min() - 2 < other.rows.max() + 2 and other.rows.min() - 2 < one.rows.max() + 2)


def _rim(aside: int) -> int:
    return aside + 1


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
        rim = _rim(self._aside)
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
        rim = _rim(self._aside)
        straight = (middle - (up + down) / 2)[rim:-rim]
        rows = middles(straight)[:, None]
        along = MAD * float(middles(np.abs(straight - rows).ravel()))
        # On a narrow face the track's edges are half of all rows: they count less than what varies along.
        whole = straight.ravel()
        own = max(along, _STRUCTURE * MAD * float(middles(np.abs(whole - middles(whole)))))
        # Lay that runs round makes long runs restless; pieces that know nothing of each other are the least.
        first = self.deviation.get(_RUNS[0], own * math.sqrt(run / _RUNS[0]))
        return max(own, first * math.sqrt(_RUNS[0] / run), 1e-5)


def _followed(lines: Map, row: int, piece: int, run: int, aside: int, strength: float) -> Trace:
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
    around = np.arange(first, first + len(rows))[:count] % count
    return Trace(rows[:count], around, first, aside, strength)


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


def _mark(ground: Ground, trace: Trace, sure: float) -> Mark:
    pixel = float(ground.radii[1] - ground.radii[0])
    radii = ground.radii[trace.rows]
    arc = min(len(trace.pieces) * _PIECE_DEG, 360.0)
    slanted = float(radii.max() - radii.min()) > _SLANTED * math.radians(arc)
    return Mark(
        kind="scratch" if slanted else "score",
        angle_deg=(trace.first + len(trace.pieces) / 2) * _PIECE_DEG % 360, arc_deg=arc,
        r_in=float(radii.min()) - pixel, r_out=float(radii.max()) + pixel,
        length=math.radians(arc) * float(radii.mean()), score=sure,
    )  # fmt: skip
