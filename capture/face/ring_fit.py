"""The plane of a face from points on its two edges: the homography of two concentric circles.

A circle's ellipse alone does not tell perspective, and the centres of the two ellipses differ under it; two
concentric circles do (eight numbers: centre, stretch of three, perspective of two, ratio of the radii).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from capture.face.middle import middle
from capture.face.plane import FacePlane, Points

Array = NDArray[np.float64]

_STEPS = 12
#: What perspective is expected before the points speak: change of scale from the centre to the edge. A face
#: of 30 mm radius at 300 mm, tilted by 30 degrees, has 0.05.
_PERSPECTIVE = 0.06
#: Pixels; points are trusted no better than this, and the prior is weighed by it.
_LEAST_SPREAD_PX = 0.15


def fit_plane(start: FacePlane, outer: Points, inner: Points) -> FacePlane:
    """Fit the plane to points of both edges by robust least squares.

    Args:
        start: roughly where the face lies.
        outer: points on the outer edge, pixels, shape = (n, 2); some may be wrong.
        inner: points on the inner edge.
    """
    points = np.concatenate([outer, inner])
    is_outer = np.arange(len(points)) < len(outer)
    numbers = _numbers(start)
    scale = float(np.sqrt(abs(np.linalg.det(start.to_px[:2, :2]))))
    nudge = np.array([1e-3, 1e-3, 1e-3 * scale, 1e-3 * scale, 1e-3 * scale, 1e-5, 1e-5, 1e-5])
    tried = np.diag(nudge)
    for _ in range(_STEPS):
        left = _left(numbers, points, is_outer)
        spread = max(1.4826 * middle(np.abs(left)), _LEAST_SPREAD_PX)
        weight = 1.0 / (1.0 + (left / (2.0 * spread)) ** 2) ** 2
        slope = np.column_stack(
            [(_left(numbers + tried[one], points, is_outer) - left) / nudge[one] for one in range(8)]
        )
        hold = np.zeros(8)
        hold[5:7] = (spread / (_PERSPECTIVE * scale)) ** 2 * scale**2
        matrix = slope.T @ (slope * weight[:, None]) + np.diag(hold + 1e-9)
        move = np.linalg.solve(matrix, slope.T @ (weight * left) + hold * numbers)
        numbers = numbers - move
        if float(np.max(np.abs(move[:5]))) < 1e-3:
            break
    return FacePlane(_homography(numbers), float(numbers[7]))


def _numbers(plane: FacePlane) -> Array:
    """Centre x, y; stretch xx, xy, yy (pixels); perspective x, y; bore. Any turn is taken out."""
    to_px = plane.to_px / plane.to_px[2, 2]
    centre = to_px[:2, 2]
    perspective = to_px[2, :2]
    slope = (to_px[:2, :2] - np.outer(centre, perspective)) @ np.diag([1.0, -1.0])
    left, values, _ = np.linalg.svd(slope)
    stretch = left @ np.diag(values) @ left.T
    # The turn that made the slope symmetric turns the perspective too.
    turn = np.linalg.solve(slope @ np.diag([1.0, -1.0]), stretch @ np.diag([1.0, -1.0]))
    seen = perspective @ turn
    return np.array([*centre, stretch[0, 0], stretch[0, 1], stretch[1, 1], seen[0], seen[1], plane.bore])


def _homography(numbers: Array) -> Array:
    """Return the homography whose slope at the centre is the symmetric stretch (y up turned to y down)."""
    x, y, xx, xy, yy, along_x, along_y, _ = numbers
    slope = np.array([[xx, xy], [xy, yy]]) @ np.diag([1.0, -1.0])
    to_px = np.eye(3)
    to_px[2, :2] = along_x, along_y
    to_px[:2, 2] = x, y
    to_px[:2, :2] = slope + np.outer([x, y], [along_x, along_y])
    return to_px


def _left(numbers: Array, points: Points, is_outer: NDArray[np.bool_]) -> Array:
    """How far each point lies off its circle, in pixels about, shape = (n,)."""
    back = np.linalg.inv(_homography(numbers))
    flat = points @ back[:2, :2].T + back[:2, 2]
    flat = flat / (points @ back[2, :2] + back[2, 2])[:, None]
    radius = np.hypot(flat[:, 0], flat[:, 1])
    scale = float(np.sqrt(abs(numbers[2] * numbers[4] - numbers[3] ** 2)))
    return np.asarray((radius - np.where(is_outer, 1.0, numbers[7])) * scale, np.float64)
