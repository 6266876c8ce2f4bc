"""Corners of a marker to a tenth of a pixel: lines fitted to its four sides, met with each other.

Sides are placed where the light, not the picture's grey level, is half way between black and white. Pictures
are stored with a gamma; half way in grey levels would make every black square too small by about 1.6 times
the blur's sigma, a per cent of a marker 100 px wide.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import Points

_Light = NDArray[np.float32]

#: Profiles across a side, and the part of the side they stand on: its ends are rounded by blur.
_PROFILES, _FROM, _TO = 40, 0.1, 0.9
#: Profiles reach this many cells to both sides, in steps of a quarter pixel; a cell is a sixth of a side.
_REACH = 0.6
_STEP_PX = 0.25
#: Black and white of a side differ by at least this share of all light; a marker in deep shadow has no edge.
_LEAST_CONTRAST = 0.02
#: So many of the profiles must lie on the line: else the side is covered, bent or no side.
_LEAST_ON_LINE = 0.75
#: Farther than this from the line, in cells or pixels whichever is more, is not on it.
_OFF_LINE, _OFF_LINE_PX = 0.06, 0.5


def linear_light(grey: NDArray[np.uint8]) -> _Light:
    """Return the light, 0 to 1, of grey levels in the usual coding (IEC 61966-2-1, sRGB, from memory)."""
    level = np.arange(256) / 255.0
    light = np.where(level <= 0.04045, level / 12.92, ((level + 0.055) / 1.055) ** 2.4)
    return np.asarray(light.astype(np.float32)[grey])


def sharpened(light: _Light, corners: Points) -> Points | None:
    """Return the corners placed anew, shape = (4, 2); None where a side is not seen well enough.

    Args:
        light: shape = (height, width), from :func:`linear_light`.
        corners: about where they are, in order around the marker, shape = (4, 2), pixels.
    """
    placed = corners
    for _ in range(2):
        lines = [_side(light, placed[i], placed[(i + 1) % 4], placed.mean(axis=0)) for i in range(4)]
        met = [_meeting(lines[i - 1], lines[i]) for i in range(4)]
        seen = [point for point in met if point is not None]
        if len(seen) < 4:
            return None
        placed = np.stack(seen)
    moved = np.hypot(*(placed - corners).T)
    return placed if float(moved.max()) < _REACH * _cell(corners) + 1 else None


def _cell(corners: Points) -> float:
    sides = np.hypot(*(corners - np.roll(corners, 1, axis=0)).T)
    return float(sides.mean()) / 6


def _side(
    light: _Light, start: NDArray[np.float64], end: NDArray[np.float64], middle: NDArray[np.float64]
) -> NDArray[np.float64] | None:
    """Return the line (a, b, c) with a x + b y + c = 0 and a² + b² = 1 along a side; None where none is."""
    along = end - start
    length = float(np.hypot(*along))
    if length < 12:
        return None
    outward = np.array([along[1], -along[0]]) / length
    if float(outward @ (start - middle)) < 0:
        outward = -outward
    reach = max(_REACH * length / 6, 2.0)
    offsets = np.arange(-reach, reach + _STEP_PX / 2, _STEP_PX)
    feet = start + np.linspace(_FROM, _TO, _PROFILES)[:, None] * along
    at = (feet[:, None, :] + offsets[None, :, None] * outward).astype(np.float32)
    profiles = cv2.remap(light, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=(0,))  # type: ignore[call-overload]
    crossed = _crossings(np.asarray(profiles, np.float32), offsets)
    seen = np.isfinite(crossed)
    if seen.mean() < _LEAST_ON_LINE:
        return None
    return _line(feet[seen] + crossed[seen, None] * outward, length / 6)


def _crossings(profiles: _Light, offsets: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return where each profile, dark to bright, passes half its light nearest to the foot; nan for none."""
    ends = max(2, profiles.shape[1] // 6)
    # Black is the same along a side, white the paper's, as bright as the lamp makes it there.
    black = np.median(profiles[:, :ends], axis=1)
    white = np.median(profiles[:, -ends:], axis=1)
    half = ((black + white) / 2)[:, None]
    above = profiles >= half
    rising = ~above[:, :-1] & above[:, 1:]
    distance = np.where(rising, np.abs(offsets[:-1] + _STEP_PX / 2), np.inf)
    nearest = np.argmin(distance, axis=1)
    row = np.arange(len(profiles))
    low, high = profiles[row, nearest], profiles[row, nearest + 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        crossed = offsets[nearest] + _STEP_PX * (half[:, 0] - low) / (high - low)
    good = rising[row, nearest] & (white - black > _LEAST_CONTRAST)
    return np.where(good, crossed, np.nan)


def _line(points: Points, cell_px: float) -> NDArray[np.float64] | None:
    """Return the line through most of the points; None where too few lie on one."""
    vx, vy, x, y = np.asarray(cv2.fitLine(points.astype(np.float32), cv2.DIST_HUBER, 0, 0.01, 0.01)).ravel()
    off = np.abs((points - (x, y)) @ np.array([-vy, vx]))
    on = off < max(_OFF_LINE * cell_px, _OFF_LINE_PX)
    if np.count_nonzero(on) < _LEAST_ON_LINE * _PROFILES:
        return None
    middle = points[on].mean(axis=0)
    _, _, axes = np.linalg.svd(points[on] - middle, full_matrices=False)
    across = axes[1]
    return np.array([across[0], across[1], -float(across @ middle)])


def _meeting(first: NDArray[np.float64] | None, second: NDArray[np.float64] | None) -> Points | None:
    if first is None or second is None:
        return None
    x, y, w = np.cross(first, second)
    return np.array([x / w, y / w]) if abs(w) > 0.1 else None
