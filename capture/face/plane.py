"""The plane of the flat face: from lengths on the face to pixels and back, tilt and perspective included.

Lengths are in outer radii of the face, so that a face without a scale has a plane as well: the outer edge
is the circle of radius 1, the inner edge that of radius ``bore``. The origin is the centre of the face, x
points to three o'clock as seen, y to twelve o'clock: angles count counter-clockwise, as in the contract.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from shared.photo import Ellipse

Points = NDArray[np.float64]
"""Shape = (n, 2)."""


@dataclass(frozen=True, slots=True, eq=False)
class FacePlane:
    """Where the face lies in the picture."""

    to_px: NDArray[np.float64]
    """Homography, shape = (3, 3): from the plane, in outer radii, to pixels, x right and y down."""
    bore: float
    """Radius of the inner edge in outer radii, 0 to 1."""

    def pixels(self, points: Points) -> Points:
        """Return where points of the plane lie in the picture, shape = (n, 2)."""
        return _carried(self.to_px, points)

    def points(self, pixels: Points) -> Points:
        """Return where pixels lie in the plane, shape = (n, 2), in outer radii."""
        return _carried(np.asarray(np.linalg.inv(self.to_px), np.float64), pixels)

    def polar_pixels(self, radii: NDArray[np.float64], degrees: NDArray[np.float64]) -> Points:
        """Return the pixels of radii (outer radii) and angles (degrees), each of shape = (n,)."""
        angle = np.radians(degrees)
        return self.pixels(np.column_stack([radii * np.cos(angle), radii * np.sin(angle)]))

    def circle(self, radius: float) -> Ellipse:
        """Return the ellipse that the circle of this radius (outer radii) makes in the picture."""
        back = np.linalg.inv(self.to_px)
        return ellipse_of_conic(back.T @ np.diag([1.0, 1.0, -(radius**2)]) @ back)

    @property
    def outer(self) -> Ellipse:
        """The outer edge of the flat face in the picture."""
        return self.circle(1.0)

    @property
    def inner(self) -> Ellipse:
        """The inner edge of the flat face in the picture."""
        return self.circle(self.bore)

    @property
    def tilt_deg(self) -> float:
        """How far the face looks away from the camera, from the ratio of the outer edge's axes."""
        return math.degrees(math.acos(min(self.outer.minor_px / self.outer.major_px, 1.0)))


def three_o_clock(to_px: NDArray[np.float64]) -> float:
    """Return where, in degrees of the plane, three o'clock is seen: exactly right of the centre.

    Seen aslant no two axes at a right angle point exactly right and up; the contract names three o'clock.
    """
    normed = to_px / to_px[2, 2]
    slope = normed[:2, :2] - np.outer(normed[:2, 2], normed[2, :2])
    right = np.linalg.solve(slope, np.array([1.0, 0.0]))
    return math.degrees(math.atan2(right[1], right[0]))


def turned(to_px: NDArray[np.float64], degrees: float) -> NDArray[np.float64]:
    """Return the homography of the same plane with its axes turned counter-clockwise about the centre."""
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.asarray(to_px @ np.array([[cos, -sin, 0.0], [sin, cos, 0.0], [0.0, 0.0, 1.0]]), np.float64)


def upright(plane: FacePlane) -> FacePlane:
    """Return the same plane with its x axis at three o'clock as seen: two circles do not tell the turn."""
    return FacePlane(turned(plane.to_px, three_o_clock(plane.to_px)), plane.bore)


def plane_of_ellipse(outer: Ellipse, bore: float) -> FacePlane:
    """Return the plane of a face seen from so far that perspective does not show.

    The turn about the face's normal, which an ellipse does not tell, is the one of a symmetric stretch along
    the minor axis (polar decomposition), as the fit has it; see :func:`upright`.
    """
    angle = math.radians(outer.angle_deg)
    along = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    stretch = along @ np.diag([outer.major_px / 2, outer.minor_px / 2]) @ along.T
    to_px = np.eye(3)
    to_px[:2, :2] = stretch @ np.diag([1.0, -1.0])
    to_px[:2, 2] = outer.centre_px
    return FacePlane(to_px, bore)


def ellipse_of_conic(conic: NDArray[np.float64]) -> Ellipse:
    """Return the ellipse of a symmetric matrix C with x' C x = 0.

    Raises:
        ValueError: the conic is no real ellipse.

    Source: Hartley and Zisserman, Multiple View Geometry, 2nd ed., 2.2.3; axes from the eigenvalues.
    """
    square = conic[:2, :2]
    centre = np.linalg.solve(square, -conic[:2, 2])
    level = float(conic[2, 2] + conic[:2, 2] @ centre)
    values, vectors = np.linalg.eigh(square)
    with np.errstate(divide="ignore", invalid="ignore"):
        halves_squared = -level / values
    if not np.all(np.isfinite(halves_squared)) or np.any(halves_squared <= 0):
        raise ValueError("this conic is no ellipse")
    halves = np.sqrt(halves_squared)
    long = int(np.argmax(halves))
    angle = math.degrees(math.atan2(vectors[1, long], vectors[0, long])) % 180
    return Ellipse(
        centre_px=(float(centre[0]), float(centre[1])),
        major_px=2 * float(halves[long]),
        minor_px=2 * float(halves[1 - long]),
        angle_deg=angle,
    )


def _carried(homography: NDArray[np.float64], points: Points) -> Points:
    carried = cv2.perspectiveTransform(np.asarray(points, np.float64).reshape(-1, 1, 2), homography)
    return np.asarray(carried, np.float64).reshape(-1, 2)
