"""The scale of a face from a printed marker that lies beside it, in the plane of the face.

The marker is one of the dictionary ``DICT_4X4_50``, 20 mm over its black border (``witnessmark inspect
--print-marker`` prints a sheet of them). Its corners are carried into the plane of the face; there they must
make a square. A ring alone tells its tilt but hardly the perspective that goes with it, so the perspective
is settled by marker and ring together (:func:`_settled`).

Limit: a marker that lies lower than the face by h, seen from a distance Z, makes the face h / Z too large
(5 mm at 250 mm: 2 per cent), and nothing in the picture tells: lay it level with the face.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.marker_corners import linear_light, sharpened
from capture.face.plane import FacePlane, Points
from capture.picture_quality import Picture

#: Side of the black border, millimetres.
MARKER_MM = 20.0
#: Cells along a side: four of the code and the border's two.
CELLS = 6
#: Markers are searched for in pictures of at most this longer side; corners are placed in the whole one.
_SEARCHED_PX = 1600
#: Corners are placed about so well; what the square lacks beyond it is not measuring noise.
_CORNER_PX = 0.15
#: Faces have 25 to 90 mm outside diameter (issue: See the seal face); with room to spare, millimetres.
_LEAST_RADIUS_MM, _MOST_RADIUS_MM = 8.0, 75.0
#: The square's corners may be off by this share of a side, root mean square: else it is bent, partly hidden,
#: or not in the plane of the face. A marker turned out of the plane by 15 degrees has 0.017.
_MOST_BENT = 0.012
#: Several markers may differ by this share: else one is of another size or at another height.
_MOST_APART = 0.02
#: Perspective to expect (half of the change of scale over an outer radius) is radius over distance times the
#: sine of the tilt. Radius over distance is radius in pixels over the lens's focal length in pixels, which is
#: about the picture's longer side (phones 0.7 and more); a ring beside the middle of the picture is seen
#: aslant by its offset over the same. So much is added for the fit of the ring; more than so many times as
#: much is no perspective.
_FIT = 0.005
_MOST_PERSPECTIVE = 3.0


def find_marker(picture: Picture, plane: FacePlane) -> float | None:
    """Return how many millimetres an outer radius of the face has, None where no marker tells.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.
        plane: where the face lies in it.

    Returns:
        None as well where the marker is partly hidden, no square in the plane of the face, or where several
        markers disagree: no scale is better than a wrong one.
    """
    markers = [plane.points(corners) for corners in _corners(picture)]
    markers = [corners for corners in markers if np.all(np.isfinite(corners))]
    markers = _settled(markers, plane, picture.shape) if markers else []
    scales = [MARKER_MM / side for side, bent in map(_square, markers) if bent < _MOST_BENT]
    scales = [scale for scale in scales if _LEAST_RADIUS_MM < scale < _MOST_RADIUS_MM]
    if not scales or max(scales) / min(scales) > 1 + _MOST_APART:
        return None
    return float(np.median(scales))


def marker_cells(number: int) -> NDArray[np.bool_]:
    """Return which cells of a marker are black, shape = (6, 6)."""
    drawn = cv2.aruco.generateImageMarker(_dictionary(), number, CELLS)
    return np.asarray(drawn, np.uint8) < 128


def _dictionary() -> cv2.aruco.Dictionary:
    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


def _corners(picture: Picture) -> list[Points]:
    """Return the four corners of every marker in pixels, clockwise as printed, each shape = (4, 2)."""
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.uint8)
    shrink = min(1.0, _SEARCHED_PX / max(grey.shape))
    searched = grey
    if shrink < 1:
        smaller = cv2.resize(grey, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
        searched = np.asarray(smaller, np.uint8)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_NONE
    # No bit of the code may be wrong: the four by four codes differ in few, and any texture has squares.
    settings.errorCorrectionRate = 0.0
    found, numbers, _ = cv2.aruco.ArucoDetector(_dictionary(), settings).detectMarkers(searched)
    if numbers is None or not len(numbers):
        return []
    light = linear_light(grey)
    # Shrunk pixels are areas: their centres lie half a pixel off.
    rough = [(np.asarray(corners, np.float64).reshape(4, 2) + 0.5) / shrink - 0.5 for corners in found]
    placed = [sharpened(light, corners) for corners in rough]
    return [corners for corners in placed if corners is not None]


def _settled(markers: list[Points], plane: FacePlane, shape: tuple[int, ...]) -> list[Points]:
    """Return the corners with the perspective under which they are most nearly squares.

    Exactly the boosts of the plane keep the unit circle (the ring) where it is and move its centre: the
    Klein disk's, two numbers. Least squares by Gauss and Newton; the usual perspective counts as a
    measurement, so that a small marker does not bend a good plane. None are returned where it takes more
    perspective than a picture can have: then they lie in another plane.
    """
    noise = _CORNER_PX / (plane.outer.major_px / 2)
    usual = _usual_perspective(plane, shape)

    def lacks(boost: NDArray[np.float64]) -> NDArray[np.float64]:
        squares = [_off_square(_boosted(corners, boost)) / noise for corners in markers]
        return np.concatenate([*[square.ravel() for square in squares], usual @ boost])

    boost, step = np.zeros(2), 1e-4
    for _ in range(6):
        here = lacks(boost)
        slope = np.stack([(lacks(boost + step * unit) - here) / step for unit in np.eye(2)], axis=1)
        change = np.linalg.lstsq(slope, -here, rcond=None)[0]
        length = float(np.hypot(*change))
        boost = boost + change * min(1.0, 0.1 / max(length, 1e-9))
        if float(np.hypot(*(usual @ boost))) > 2 * _MOST_PERSPECTIVE:
            return []
    if float(np.hypot(*(usual @ boost))) > _MOST_PERSPECTIVE:
        return []
    return [_boosted(corners, boost) for corners in markers]


def _usual_perspective(plane: FacePlane, shape: tuple[int, ...]) -> NDArray[np.float64]:
    """Return what weighs a boost by the usual, shape = (2, 2): rows along the tilt and across it."""
    outer, lens = plane.outer, float(max(shape[:2]))
    offset = math.hypot(outer.centre_px[0] - shape[1] / 2, outer.centre_px[1] - shape[0] / 2)
    near = outer.major_px / 2 / lens
    tilted = _tilted_towards(plane)
    across = near * offset / lens + _FIT
    along = near * math.sin(math.radians(plane.tilt_deg)) + across
    return np.stack([tilted / along, np.array([-tilted[1], tilted[0]]) / across])


def _tilted_towards(plane: FacePlane) -> NDArray[np.float64]:
    """Return the direction in the plane, shape = (2,), that the picture shows shortest."""
    ellipse = plane.outer
    angle = math.radians(ellipse.angle_deg + 90)
    end = np.array(ellipse.centre_px) + ellipse.minor_px / 2 * np.array([math.cos(angle), math.sin(angle)])
    towards = plane.points(np.array([end, ellipse.centre_px]))
    direction = towards[0] - towards[1]
    return np.asarray(direction / np.hypot(*direction), np.float64)


def _boosted(points: Points, boost: NDArray[np.float64]) -> Points:
    """Return points, shape = (n, 2), under the map of the unit disk that carries the centre to ``boost``."""
    speed = float(np.hypot(*boost))
    if speed < 1e-12:
        return points
    along = boost / speed
    gamma = 1 / math.sqrt(1 - speed**2)
    ahead = points @ along
    aside = points - ahead[:, None] * along
    below = gamma * (1 + speed * ahead)
    moved = (gamma * (ahead + speed))[:, None] * along + aside
    return np.asarray(moved / below[:, None], np.float64)


def _fitted_square(corners: Points) -> tuple[complex, NDArray[np.complex128]]:
    """Return half the diagonal of the best square and how far each corner is off, as complex numbers."""
    # Printed clockwise; y of the plane points up, so a marker seen from its front stays clockwise.
    at = corners[:, 0] + 1j * corners[:, 1]
    turns = np.array([1, -1j, -1, 1j])
    middle = complex(at.mean())
    half = complex(np.mean((at - middle) / turns))
    return half, at - middle - half * turns


def _off_square(corners: Points) -> NDArray[np.float64]:
    _, off = _fitted_square(corners)
    return np.stack([off.real, off.imag], axis=1)


def _square(corners: Points) -> tuple[float, float]:
    """Return the side of the best square and how far its corners are off, root mean square, in sides."""
    half, off = _fitted_square(corners)
    side = abs(half) * math.sqrt(2)
    if side == 0:
        return math.inf, math.inf
    return side, float(np.sqrt(np.mean(np.abs(off) ** 2))) / side
