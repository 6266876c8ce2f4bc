"""Profiles across the face and its two edges, averaged along short arcs: what blur is measured on.

A lapped face has no texture of its own; its two edges, the steps of a wear track and what lies at the edges
are all that can be sharp on it. They run along the ring, so the mean of a few degrees of it keeps them and
quiets the noise.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane

#: Arcs along the ring, and lines in each.
_ARCS, _LINES = 72, 9
#: An arc counts where this share of it lies in the picture.
_WITHIN = 0.9
#: Pixels of the picture between two samples of a line, and how far lines reach beyond both edges.
_STEP_PX = 0.5
_BEYOND_PX, _BEYOND_WIDTHS = 14.0, 0.3
#: Larger faces are sampled more coarsely: samples of a line at most.
_MOST_SAMPLES = 1200


@dataclass(frozen=True, slots=True, eq=False)
class EdgeProfiles:
    """Light along lines across the face."""

    lines: NDArray[np.float32]
    """Grey levels, shape = (arcs, lines of an arc, samples), from inside to outside."""
    beside_px: NDArray[np.float64]
    """How far outside the flat face each sample lies, pixels across; 0 on it; shape = (arcs, samples)."""
    step_px: float
    """Pixels across the edge between two samples."""
    towards_deg: NDArray[np.float64]
    """Across the edge in the picture, 0 to 180 counter-clockwise from the right, shape = (arcs,)."""
    inside: NDArray[np.bool_]
    """Arcs that lie in the picture, shape = (arcs,)."""


def edge_profiles(grey: NDArray[np.uint8], plane: FacePlane) -> EdgeProfiles:
    """Sample the face.

    Args:
        grey: shape = (height, width).
        plane: where the face lies in it.
    """
    degrees = np.asarray((np.arange(_ARCS * _LINES) + 0.5) * (360 / (_ARCS * _LINES)), np.float64)
    per_radius, towards = _across(plane, degrees.reshape(_ARCS, _LINES)[:, _LINES // 2])
    width_px = (1 - plane.bore) * per_radius
    longest = float(width_px.max())
    reach = longest / 2 + max(_BEYOND_PX, _BEYOND_WIDTHS * longest)
    step = max(_STEP_PX, 2 * reach / _MOST_SAMPLES)
    offsets = np.arange(-reach, reach + step / 2, step)
    radii = np.maximum((1 + plane.bore) / 2 + offsets[None] / per_radius[:, None], 0.01)
    at = plane.polar_pixels(np.repeat(radii, _LINES, axis=0).ravel(), np.repeat(degrees, len(offsets)))
    at = at.reshape(_ARCS * _LINES, len(offsets), 2)
    sampled = cv2.remap(  # type: ignore[call-overload]
        grey, at.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    lines = np.asarray(sampled, np.float32).reshape(_ARCS, _LINES, len(offsets))
    height, width = grey.shape
    within = (at >= 0).all(axis=2) & (at[:, :, 0] <= width - 1) & (at[:, :, 1] <= height - 1)
    beside = np.maximum(np.abs(offsets)[None] - width_px[:, None] / 2, 0.0)
    return EdgeProfiles(lines, beside, step, towards, within.reshape(_ARCS, -1).mean(axis=1) > _WITHIN)


def _across(
    plane: FacePlane, degrees: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return pixels across the edge of an outer radius, and the direction across, both shape = (n,)."""
    middle = np.full(len(degrees), (1 + plane.bore) / 2)
    outward = (plane.polar_pixels(middle + 0.01, degrees) - plane.polar_pixels(middle, degrees)) / 0.01
    along = plane.polar_pixels(middle, degrees + 0.5) - plane.polar_pixels(middle, degrees - 0.5)
    along /= np.hypot(*along.T)[:, None]
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    return np.abs((outward * normal).sum(axis=1)), np.degrees(np.arctan2(-normal[:, 1], normal[:, 0])) % 180
