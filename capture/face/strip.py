"""The face unrolled: angle along, radius across, tilt removed."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane
from capture.picture_quality import Picture

#: How far the strip reaches beyond both edges, in widths of the face: chips are seen against it.
MARGIN = 0.15
#: Columns of a strip, at least and at most; between, one for a pixel of the outer edge.
_FEWEST_COLUMNS, _MOST_COLUMNS = 720, 2880


@dataclass(frozen=True, slots=True, eq=False)
class Strip:
    """A face unrolled. Row 0 is nearest to the centre; column 0 is three o'clock, counter-clockwise on."""

    picture: Picture
    """Shape = (rows, columns, 3), uint8, blue, green, red."""
    plane: FacePlane
    radii: NDArray[np.float64]
    """Radius of each row in outer radii, shape = (rows,)."""
    outside: NDArray[np.bool_] | None = None
    """What lies outside the picture, shape = (rows, columns); None where all lies in it."""

    @property
    def columns(self) -> int:
        """Columns, 360 degrees together."""
        return int(self.picture.shape[1])

    @property
    def face_rows(self) -> slice:
        """The rows of the flat face itself, without the margins."""
        inside = np.flatnonzero((self.radii >= self.plane.bore) & (self.radii <= 1.0))
        return slice(int(inside[0]), int(inside[-1]) + 1)

    @property
    def degrees(self) -> NDArray[np.float64]:
        """Angle of each column, shape = (columns,)."""
        return np.asarray(np.arange(self.columns) * (360.0 / self.columns), np.float64)

    def radius(self, row: float) -> float:
        """Return the radius at a row, in outer radii; rows may lie between."""
        return float(self.radii[0] + row * (self.radii[1] - self.radii[0]))


def unrolled(picture: Picture, plane: FacePlane) -> Strip:
    """Unroll the face, about a pixel of the picture to a pixel of the strip.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.
        plane: where the face lies in it.
    """
    outer = plane.outer
    columns = int(np.clip(math.pi * outer.major_px, _FEWEST_COLUMNS, _MOST_COLUMNS))
    width = 1.0 - plane.bore
    first, last = plane.bore - MARGIN * width, 1.0 + MARGIN * width
    rows = max(16, math.ceil((last - first) * outer.major_px / 2) + 1)
    radii = np.linspace(first, last, rows)
    degrees = np.arange(columns) * (360.0 / columns)
    grid_r, grid_d = np.meshgrid(radii, degrees, indexing="ij")
    at = plane.polar_pixels(grid_r.ravel(), grid_d.ravel()).reshape(rows, columns, 2).astype(np.float32)
    strip = cv2.remap(picture, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    height, across = picture.shape[:2]
    outside = np.any((at < -0.5) | (at > np.array([across, height]) - 0.5), axis=2)
    return Strip(np.asarray(strip, np.uint8), plane, radii, outside if outside.any() else None)
