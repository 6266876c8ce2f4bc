"""How bright the flat face is in the picture, and how much of it is burnt out."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane
from capture.picture_quality import Picture

#: Places looked at: angles and radii.
_ANGLES, _RADII = 288, 24
#: The outermost shares of the face's width are left out: the rim glints, and the edge may be a pixel off.
_RIM = 0.06
#: The picture beyond the face begins so many outer radii from its centre; every so many pixels are looked at.
_BEYOND, _AROUND_STEP = 1.15, 8
#: Grey level from which a pixel is burnt out (JPEG brings clipped areas down a little).
BURNT = 247
#: The bright surroundings of glare, where marks drown as well, reach down to this share of the way from the
#: usual light of the rest to white (linear light): a pale ceramic is bright all over, and no glare.
_HALO = 0.8


@dataclass(frozen=True, slots=True)
class FaceLight:
    """Grey levels 0 to 255 (brightness, sRGB), shares 0 to 1."""

    burnt: float
    """Share of the face that is burnt out or drowned in the bright surroundings of what is."""
    usual: float
    """Median level of the face."""
    around: float
    """Median level of the picture beyond the face."""


def face_light(picture: Picture, plane: FacePlane) -> FaceLight:
    """Measure the light on a face.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.
        plane: where the face lies in it.
    """
    share = _RIM + (1 - 2 * _RIM) * (np.arange(_RADII) + 0.5) / _RADII
    radii = plane.bore + (1 - plane.bore) * share
    degrees = np.arange(_ANGLES) * (360 / _ANGLES)
    grid_r, grid_d = np.meshgrid(radii, degrees, indexing="ij")
    at = plane.polar_pixels(grid_r.ravel(), grid_d.ravel())
    # What lies outside the picture is not judged here.
    inside = (at >= 0).all(axis=1) & (at <= np.array(picture.shape[1::-1]) - 1.0).all(axis=1)
    if not inside.any():
        return FaceLight(0.0, 0.0, 0.0)
    within = at[inside].astype(np.float32)[None]
    seen = cv2.remap(picture, within, None, cv2.INTER_LINEAR)  # type: ignore[call-overload]
    level = np.asarray(cv2.cvtColor(seen, cv2.COLOR_BGR2GRAY), np.uint8)[0]
    # Everything the eye would find white: a coloured lamp burns out one channel long before the others.
    burnt = level >= BURNT
    rest = float(np.median(level[~burnt])) if not burnt.all() else float(BURNT)
    if burnt.any():
        burnt = burnt | (_light(level) >= _light(rest) + _HALO * (1 - _light(rest)))
    return FaceLight(
        burnt=float(burnt.mean()),
        usual=float(np.median(level)),
        around=_around(picture, plane),
    )


def _around(picture: Picture, plane: FacePlane) -> float:
    some = picture[::_AROUND_STEP, ::_AROUND_STEP]
    rows, columns = np.mgrid[: some.shape[0], : some.shape[1]] * _AROUND_STEP
    radius = np.hypot(*plane.points(np.column_stack([columns.ravel(), rows.ravel()]).astype(np.float64)).T)
    level = np.asarray(cv2.cvtColor(some, cv2.COLOR_BGR2GRAY), np.uint8).ravel()
    beyond = level[radius > _BEYOND]
    return float(np.median(beyond if beyond.size else level))


def _light(level: NDArray[np.uint8] | float) -> NDArray[np.float64]:
    return np.asarray((np.asarray(level, np.float64) / 255) ** 2.2)
