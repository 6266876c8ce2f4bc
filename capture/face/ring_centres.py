"""Where rings may lie: centres and tilts on which the directions of many edge points agree.

All circles of one part share their tilt and nearly their centre, so they are looked for together: each edge
point votes for the centres that lie along its gradient, for a few tilts; then the strongest circles about a
centre are fitted in common. No single unbroken contour is needed.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.edges import EdgePoints
from capture.face.ring_frame import Frame

Array = NDArray[np.float64]
Map = NDArray[np.float32]

#: Voting grid: work pixels for a cell.
_CELL = 4
#: Edge points that vote at most; the rest would say the same.
_VOTERS = 900
#: Directions in which votes are counted apart, so that one straight edge cannot make a centre.
_SECTORS = 12
#: Ratios of the axes and directions (degrees) of the tilts that are tried.
_RATIOS, _TURNS = (0.86, 0.72), (0, 30, 60, 90, 120, 150)
#: Centres looked at for each tilt, and in all.
_PEAKS, _KEPT, _APART = 3, 5, 14.0
#: An edge point belongs to a circle about a centre if its gradient points there within this (cosine).
_AGREES = math.cos(math.radians(16))
_ANGLES = 48


def find_centres(edges: EdgePoints, size: tuple[int, int]) -> list[Frame]:
    """Find rough centres and tilts that rings may have, the best supported first.

    Args:
        edges: of the small picture.
        size: its width and height.
    """
    if len(edges.at) < 60:
        return []
    step = max(1, len(edges.at) // _VOTERS)
    at, towards = edges.at[::step].astype(np.float64), edges.towards[::step].astype(np.float64)
    found: list[tuple[float, Frame]] = []
    for level in _levels():
        for centre in _centres(at, towards, level, size):
            frame = Frame(centre, level)
            found.append((_support(frame, at, towards), frame))
    found.sort(key=lambda pair: -pair[0])
    return _apart([frame for _, frame in found])


def _levels() -> list[Array]:
    tilts = [(1.0, 0)] + [(ratio, turn) for ratio in _RATIOS for turn in _TURNS]
    return [_level(ratio, math.radians(turn)) for ratio, turn in tilts]


def _level(ratio: float, turn: float) -> Array:
    """The stretch by 1 / ratio across the direction ``turn`` of the major axis."""
    along = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    return np.asarray(along @ np.diag([1.0, 1.0 / ratio]) @ along.T, np.float64)


def _centres(at: Array, towards: Array, level: Array, size: tuple[int, int]) -> list[Array]:
    """Vote along the gradients as they lie under this tilt; return the best cells, in work pixels."""
    width, height = size[0] // _CELL + 1, size[1] // _CELL + 1
    flat = np.linalg.inv(level)
    line = (towards @ (flat @ flat.T)).astype(np.float32)
    line /= np.linalg.norm(line, axis=1, keepdims=True)
    reach = np.arange(3, 0.55 * max(width, height)).astype(np.float32)
    signed = np.concatenate([line, -line])
    start = np.asarray(np.concatenate([at, at]).astype(np.float32) / _CELL, np.float32)
    x, y = (_cells(start[:, axis, None], signed[:, axis, None], reach) for axis in (0, 1))
    sector = ((np.arctan2(signed[:, 1], signed[:, 0]) / (2 * math.pi) + 0.5) * _SECTORS).astype(np.int32)
    sector = np.minimum(sector, _SECTORS - 1)[:, None]
    inside = (x >= 0) & (x < width) & (y >= 0) & (y < height)
    y *= width
    x += y
    x += sector * (height * width)
    every = _SECTORS * height * width
    np.copyto(x, every, where=~inside)
    votes = np.bincount(x.ravel(), minlength=every + 1)[:every].astype(np.float32)
    agreed = np.zeros((height, width), np.float32)
    for one in votes.reshape(_SECTORS, height, width):
        agreed += np.sqrt(cv2.GaussianBlur(one, (0, 0), 1.5))
    return _peaks(agreed)


def _cells(start: Map, way: Map, reach: Map) -> NDArray[np.int32]:
    """Return the cells that lines from ``start`` go through, along one axis, shape = (lines, reach)."""
    at = way * reach
    at += start
    at += 0.5
    return at.astype(np.int32)


def _peaks(agreed: NDArray[np.float32]) -> list[Array]:
    agreed = agreed.copy()
    found = []
    for _ in range(_PEAKS):
        _, best, _, (x, y) = cv2.minMaxLoc(agreed)
        if best <= 0:
            break
        found.append(np.array([x, y], np.float64) * _CELL)
        cv2.circle(agreed, (x, y), 5, 0.0, -1)
    return found


def _circular(frame: Frame, at: Array, towards: Array) -> tuple[Array, Array]:
    """Radius and angle of the points whose gradient points to or from the centre."""
    flat = (at - frame.centre) @ frame.level.T
    across = towards @ np.linalg.inv(frame.level)
    radius = np.hypot(flat[:, 0], flat[:, 1])
    agrees = np.abs((flat * across).sum(axis=1)) >= _AGREES * radius * np.linalg.norm(across, axis=1)
    agrees &= radius > 8
    return radius[agrees], np.arctan2(flat[agrees, 1], flat[agrees, 0])


def _support(frame: Frame, at: Array, towards: Array, width: float = 0.04) -> float:
    """How far round the three best circles are seen, summed: 0 to 3."""
    radius, angle = _circular(frame, at, towards)
    if not len(radius):
        return 0.0
    step = width / 2
    row = np.log(radius / 8) / step
    column = np.minimum((angle / (2 * math.pi) + 0.5) * _ANGLES, _ANGLES - 1).astype(np.int32)
    seen = np.zeros((int(row.max()) + 3, _ANGLES), bool)
    seen[row.astype(np.int32), column] = True
    seen[1:] |= seen[:-1].copy()
    share = seen.mean(axis=1)
    total = 0.0
    for _ in range(3):
        best = int(np.argmax(share))
        total += float(share[best])
        share[max(0, best - 2) : best + 3] = 0
    return total


def _apart(frames: list[Frame]) -> list[Frame]:
    """The best of those that lie on much the same place."""
    kept: list[Frame] = []
    for frame in frames:
        if all(np.linalg.norm(one.centre - frame.centre) > _APART for one in kept):
            kept.append(frame)
        if len(kept) >= _KEPT:
            break
    return kept
