"""The edge of the flat face itself where a bevel, a step or the side of the ring runs close beside it.

The strongest step round a tilted ring is often where its side ends against the ground: on one half of the
circle that is the edge of the face, on the other the face ends before it, at a fainter line. So, going out
from the face, the first circle that is seen all round is its edge. Circles here may lie off the centre: what
is deeper than the face is shifted by the view.

Measured on rendered pictures, both diameters within 1 %: 33 to 37 of 50 of one renderer, 150 to 152 of 185 of
another, two lost. The limits were chosen on these pictures.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane, Points
from capture.face.ring_fit import fit_plane
from capture.picture_quality import Picture

Array = NDArray[np.float64]

_COLUMNS = 180
#: How far inside the edge found another is looked for: shares of the face's width and of its outer radius;
#: the lesser counts. Bevels are narrower, and the edges of wear tracks seldom lie as near.
_INSIDE_WIDTH, _INSIDE_RADIUS = 0.16, 0.035
#: A step is seen where it has so many times the usual step of the face itself.
_SEEN = 3.5
#: Share of the circle on which the first edge must be seen, and of what the edge found has.
_LEAST_SEEN, _AS_MUCH = 0.75, 0.78
#: Off the edge found by less than this, pixels, it is the same.
_SAME_PX = 1.5
#: An edge that nowhere comes as near, pixels, to the edge found is a bevel's only where that is as narrow as
#: this, outer radii: the edge of a wear track runs parallel, a deeper edge is shifted by the view.
_MEET_PX, _BEVEL = 2.0, 0.012
_SHIFTS = 15
_ROW_PX = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class _Rim:
    """The steps of the picture about an edge. Row 0 is farthest inside the face."""

    steps: Array
    """Shape = (rows, columns): size of the step, over what is usual on the face."""
    row_px: float
    """Pixels of the picture to a row."""
    zero: int
    """Row of the edge found."""
    sign: float
    """1 for the outer edge, -1 for the inner one, whose outside lies towards the centre."""
    at: float
    """Radius of the edge found, outer radii."""
    row_radius: float
    """Outer radii to a row."""


def within_bevels(picture: Picture, plane: FacePlane) -> FacePlane:
    """Draw the edges in to the face itself where something else was taken for them.

    Args:
        picture: shape = (height, width, 3), full resolution.
        plane: of the edges found, in its pixels.
    """
    rims = [_rim(picture, plane, 1.0, 1.0), _rim(picture, plane, plane.bore, -1.0)]
    curves = [_first(rim) for rim in rims]
    if all(curve is None for curve in curves):
        return plane
    points = [
        _points(plane, rim, curve if curve is not None else np.full(_COLUMNS, float(rim.zero)))
        for rim, curve in zip(rims, curves, strict=True)
    ]
    if min(len(one) for one in points) < _COLUMNS // 4:
        return plane
    drawn = fit_plane(plane, points[0], points[1])
    return drawn if 0.3 < drawn.bore < 1.0 else plane


def _rim(picture: Picture, plane: FacePlane, at: float, sign: float) -> _Rim:
    scale = float(np.sqrt(abs(np.linalg.det(plane.to_px[:2, :2]))))
    width = 1 - plane.bore
    inside = min(_INSIDE_WIDTH * width, _INSIDE_RADIUS)
    row_radius = _ROW_PX / scale
    zero = math.ceil(inside / row_radius) + 2
    face = max(4, math.ceil(0.3 * width / row_radius))
    rows = np.arange(-zero - face, max(3, zero // 3) + 1) * row_radius
    degrees = np.asarray(np.arange(_COLUMNS * 2) * (180.0 / _COLUMNS), np.float64)
    radius, angle = np.meshgrid(at + sign * rows, degrees, indexing="ij")
    where = plane.polar_pixels(radius.ravel(), angle.ravel()).astype(np.float32).reshape(*radius.shape, 2)
    strip = cv2.remap(picture, where, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    wide = np.concatenate([strip[:, -12:], strip, strip[:, :12]], axis=1).astype(np.float32)
    smooth = cv2.GaussianBlur(wide, (0, 0), sigmaX=2.0, sigmaY=0.9)[:, 12:-12:2]
    step = np.zeros(smooth.shape[:2])
    step[1:-1] = np.abs(smooth[2:] - smooth[:-2]).max(axis=2)
    usual = np.median(step[1:face], axis=0)
    usual = np.maximum(usual, 0.5 * float(np.median(usual)) + 0.15)
    return _Rim(step[face:] / usual, _ROW_PX, zero, sign, at, row_radius)


def _first(rim: _Rim) -> Array | None:
    """Return the row of the first edge at each column, None where it is the edge found."""
    ridge = _ridges(rim.steps)
    angle = np.radians(np.arange(_COLUMNS) * (360.0 / _COLUMNS))
    shifts = np.linspace(-0.6 * rim.zero, 0.6 * rim.zero, _SHIFTS)
    b, c = (grid.ravel() for grid in np.meshgrid(shifts, shifts))
    swing = b[:, None] * np.cos(angle) + c[:, None] * np.sin(angle)
    rows = np.arange(2, rim.zero + 3)
    shares, curves = np.zeros(len(rows)), np.zeros((len(rows), _COLUMNS))
    for n, row in enumerate(rows):
        at = np.rint(row + swing).astype(int)
        index = np.flatnonzero((at >= 1).all(axis=1) & (at < len(ridge) - 1).all(axis=1))
        if len(index):
            share = ridge[at[index], np.arange(_COLUMNS)].mean(axis=1)
            shares[n] = share.max()
            curves[n] = row + swing[index[int(np.argmax(share))]]
    needed = max(_LEAST_SEEN, _AS_MUCH * float(shares[-5:].max()))
    enough = np.flatnonzero(shares >= needed)
    if not len(enough):
        return None
    first = int(enough[0])
    n = first + int(np.argmax(shares[first : first + 3]))
    apart = np.abs(curves[n] - rim.zero)
    parallel = float(apart.min()) * rim.row_px > _MEET_PX and float(apart.mean()) * rim.row_radius > _BEVEL
    return curves[n] if float(apart.max()) * rim.row_px > _SAME_PX and not parallel else None


def _ridges(steps: Array) -> NDArray[np.bool_]:
    """Return where a seen step is greater than those inside and outside it, give or take a row."""
    top = np.zeros(steps.shape, bool)
    top[1:-1] = (steps[1:-1] >= steps[:-2]) & (steps[1:-1] >= steps[2:]) & (steps[1:-1] >= _SEEN)
    wide = top.copy()
    wide[1:] |= top[:-1]
    wide[:-1] |= top[1:]
    return wide


def _points(plane: FacePlane, rim: _Rim, curve: Array) -> Points:
    """Return the strongest steps within two rows of a curve, parts of a row, in pixels of the picture."""
    near = np.rint(curve).astype(int)[None, :] + np.arange(-2, 3)[:, None]
    near = np.clip(near, 1, len(rim.steps) - 2)
    columns = np.arange(_COLUMNS)
    row = near[np.argmax(rim.steps[near, columns], axis=0), columns]
    before, here, after = rim.steps[row - 1, columns], rim.steps[row, columns], rim.steps[row + 1, columns]
    bend = before - 2 * here + after
    good = (bend < 0) & (here >= _SEEN) & (here >= before) & (here >= after)
    part = np.where(good, 0.5 * (before - after) / np.where(good, bend, -1.0), 0.0)
    radius = rim.at + rim.sign * (row + part - rim.zero) * rim.row_radius
    degrees = np.asarray(columns * (360.0 / _COLUMNS), np.float64)
    return np.asarray(plane.polar_pixels(np.asarray(radius, np.float64), degrees)[good], np.float64)
