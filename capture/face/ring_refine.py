"""The edges of a chosen face at full resolution, to parts of a pixel."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane, Points
from capture.face.ring_fit import fit_plane
from capture.picture_quality import Picture

Array = NDArray[np.float64]

_COLUMNS = 240
#: Half width of the search about the rough edge, outer radii, in the rounds of the fit; pixels at least.
_REACH = (0.02, 0.012)
_LEAST_REACH_PX = 3.0
#: Points that an edge needs for a fit.
_LEAST_POINTS = 24


def refine(picture: Picture, plane: FacePlane, blur_px: float) -> FacePlane:
    """Fit the plane to both edges in the whole picture.

    Args:
        picture: shape = (height, width, 3), full resolution.
        plane: rough, in its pixels.
        blur_px: how much detail the rough search left out, pixels of the picture for a work pixel.
    """
    scale = float(np.sqrt(abs(np.linalg.det(plane.to_px[:2, :2]))))
    for reach in _REACH:
        wide = max(reach, _LEAST_REACH_PX / scale, reach / 0.02 * 1.5 * blur_px / scale)
        outer = _edge(picture, plane, 1.0, wide)
        inner = _edge(picture, plane, plane.bore, min(wide, 0.3 * (1 - plane.bore)))
        if min(len(outer), len(inner)) < _LEAST_POINTS:
            return plane
        plane = fit_plane(plane, outer, inner)
    return plane


def _edge(picture: Picture, plane: FacePlane, at: float, wide: float) -> Points:
    """Points of the strongest step near a circle, one a direction at most."""
    scale = float(np.sqrt(abs(np.linalg.det(plane.to_px[:2, :2]))))
    half = max(3, math.ceil(wide * scale / 0.5))
    offsets = np.arange(-half - 3, half + 4) * (wide / half)
    degrees = np.asarray(np.arange(_COLUMNS) * (360.0 / _COLUMNS), np.float64)
    radius, angle = np.meshgrid(at + offsets, degrees, indexing="ij")
    pixels = plane.polar_pixels(radius.ravel(), angle.ravel()).astype(np.float32)
    where = pixels.reshape(*radius.shape, 2)
    strip = cv2.remap(picture, where, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    smooth = cv2.GaussianBlur(strip.astype(np.float32), (0, 0), sigmaX=1.0, sigmaY=1.6)
    step = (smooth[2:] - smooth[:-2])[2:-2]
    size = np.abs(step).max(axis=2)
    prior = np.exp(-0.5 * (offsets[3:-3] / wide) ** 2)[:, None]
    row = np.argmax((size * prior)[1:-1], axis=0) + 1
    column = np.arange(_COLUMNS)
    before, here, after = size[row - 1, column], size[row, column], size[row + 1, column]
    bend = before - 2 * here + after
    good = (bend < 0) & (here > 0.35 * np.median(here))
    height, width = picture.shape[:2]
    between = np.where(good, 0.5 * (before - after) / np.where(good, bend, -1.0), 0.0)
    exact: Array = at + offsets[row + 3] + between * (wide / half)
    points = plane.polar_pixels(exact, degrees)
    good &= (points >= 0).all(axis=1) & (points <= (width - 1, height - 1)).all(axis=1)
    return np.asarray(points[good], np.float64)
