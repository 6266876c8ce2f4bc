"""Scores: grooves that run along the circles of the face, all round or a part of it.

The edges of a wear track run along too, but they are steps: a running median across the face keeps steps
and takes out lines, so what it leaves over is lines only. Lay that runs round is a line beside a line
everywhere: it makes the spread of what is left over, and a score stands out of it. A score is followed
both ways from where it is clearest, and may drift to a neighbouring row from piece to piece.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.extremes import threshold
from capture.face.ground import MAD, Ground, Map
from capture.face.mark import Mark

#: Columns are put together to pieces of so many degrees; a shorter score is found as a short line.
_PIECE_DEG = 2.0
#: Windows across, pixels: a line up to not quite half as wide is taken out of it ...
_WINDOWS = (9, 19)
#: ... unless the window is more than this share of the face: a narrow track is no line.
_WINDOW_SHARE = 0.25
#: Pieces in a row that a score is looked for over; the last is all round.
_RUNS = (3, 6, 12, 30, 90, 180)
#: Standard deviations below and above which no threshold lies.
_BOUNDS = (6.0, 12.0)
#: Rows at each edge of the face where the edge itself makes lines.
_RIM = 4
_LEAST_ARC_DEG = 6.0
#: Share of a score's own strength down to which it goes on.
_ON = 0.35
#: As with parts: chance has no JPEG blocks.
_SURE = 1.2
_MOST_SCORES = 12
_MOST_OF_ONE_PIECE = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class _Trace:
    rows: NDArray[np.intp]
    pieces: NDArray[np.intp]
    first: int
    """Of the pieces, before the ring is closed: may be negative."""


def scores_of(ground: Ground) -> list[Mark]:
    """Return the scores of a face."""
    marks: list[Mark] = []
    for window in _WINDOWS:
        if window <= max(_WINDOWS[0], _WINDOW_SHARE * len(ground.radii)) and window < len(ground.radii):
            new = _found(ground, window)
            marks += [mark for mark in new if not any(_same(mark, other) for other in marks)]
    return marks


def _found(ground: Ground, window: int) -> list[Mark]:
    lines = _lines(ground, window)
    best, runs = _best_run(lines)
    best[:_RIM], best[-_RIM:] = 0, 0
    level = threshold(best, *_BOUNDS)
    marks: list[Mark] = []
    for _ in range(_MOST_SCORES):
        row, piece = (int(v) for v in np.unravel_index(int(best.argmax()), best.shape))
        strength = float(best[row, piece]) / level
        if strength <= _SURE:
            break
        trace = _followed(lines, row, piece, int(runs[row, piece]))
        reach = window // 2
        for at, column in zip(trace.rows, trace.pieces, strict=True):
            best[max(0, at - reach) : at + reach + 1, column] = 0
        best[row, piece] = 0
        if len(trace.pieces) * _PIECE_DEG >= _LEAST_ARC_DEG:
            marks.append(_mark(ground, trace, strength))
    return marks


def _same(one: Mark, other: Mark) -> bool:
    apart = abs((one.angle_deg - other.angle_deg + 180) % 360 - 180)
    along = apart < (one.arc_deg + other.arc_deg) / 2
    width = 0.5 * (one.r_out - one.r_in + other.r_out - other.r_in)
    return along and one.r_in < other.r_out + width and other.r_in < one.r_out + width


def _lines(ground: Ground, window: int) -> Map:
    """Return how far each piece strays from the rows about it in standard deviations.

    Returns:
        shape = (rows, pieces).
    """
    flat = ground.lit.flat[ground.lit.strip.face_rows]
    size = (round(360 / _PIECE_DEG), flat.shape[0])
    pieces = cv2.resize(flat, size, interpolation=cv2.INTER_AREA)
    hidden = cv2.resize(ground.hidden.astype(np.float32), size, interpolation=cv2.INTER_AREA)
    half = window // 2
    tall = np.pad(pieces, ((half, half), (0, 0)), mode="reflect")
    around = np.median(np.lib.stride_tricks.sliding_window_view(tall, window, axis=0), axis=2)
    stray = np.where(hidden > 0.2, 0, pieces - around)
    spread = MAD * np.median(np.abs(stray), axis=1)
    wide = np.pad(spread, half, mode="reflect")
    near = np.median(np.lib.stride_tricks.sliding_window_view(wide, window), axis=1)
    near = np.maximum(near, 0.7 * np.median(near))
    signal = stray / np.maximum(near, 1e-5)[:, None]
    return np.asarray(np.clip(signal, -_MOST_OF_ONE_PIECE, _MOST_OF_ONE_PIECE), np.float32)


def _best_run(lines: Map) -> tuple[Map, Map]:
    """Return the largest response of a run of pieces at each piece, and the run's length in pieces."""
    rows, count = lines.shape
    best = np.zeros(lines.shape, np.float32)
    runs = np.ones(lines.shape, np.float32)
    sums = np.hstack([np.zeros((rows, 1), np.float32), np.cumsum(np.hstack([lines, lines]), axis=1)])
    for run in _RUNS:
        total = np.abs(sums[:, run : run + count] - sums[:, :count])
        # Lay that runs round makes long runs restless; pieces that know nothing of each other are the least.
        deviation = max(MAD * float(np.median(total)), math.sqrt(run))
        response = np.roll(total / deviation, run // 2, axis=1)
        runs[response > best] = run
        np.maximum(best, response, out=best)
    return best, runs


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
