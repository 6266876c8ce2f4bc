"""The surroundings of a centre unrolled: all circles about it become lines, whatever they bound."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.middle import middle
from capture.face.plane import FacePlane
from capture.face.ring_frame import Frame
from capture.picture_quality import Picture

Array = NDArray[np.float64]
Map = NDArray[np.float32]

#: A hit is a local extreme of the radial step that exceeds so many times the usual one; grey levels a pixel.
_HIT, _FLOOR = 2.0, 0.5
#: Smoothing across the circles (rows) before the step is taken.
_ACROSS = 1.2
#: The fine disc: columns, rows to a pixel of the picture at most, to the outer radius, and in all.
_FINE_COLUMNS, _FINE_PER_PX, _FINE_ROWS, _FINE_ROWS_IN_ALL = 360, 2.0, 500.0, 700.0
#: Channels: brightness and two colour differences, which weigh less for the noise of colour in JPEG.
_COLOUR = np.array([[0.114, 0.587, 0.299], [0.6, -0.3, -0.3], [-0.1, -0.5, 0.6]], np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class Disc:
    """What lies round a centre: rows are radii in work pixels, columns angles (picture sense)."""

    frame: Frame
    radii: Array
    """Shape = (rows,), evenly spaced."""
    picture: Map
    """Shape = (rows, columns, 3): brightness and two colour differences, grey levels."""
    inside: NDArray[np.bool_]
    """Where the picture reaches, shape = (rows, columns)."""
    step: Map
    """Signed radial step of the channel that steps most there, in usual steps of this disc."""
    hits: NDArray[np.bool_]
    """Local extremes of ``step`` along the radius."""

    @property
    def columns(self) -> int:
        """Columns, 360 degrees together."""
        return int(self.hits.shape[1])

    @property
    def angles(self) -> Array:
        """Radians of the columns, picture sense (y down)."""
        return np.asarray(np.arange(self.columns) * (2 * math.pi / self.columns), np.float64)

    def row(self, radius: Array) -> Array:
        """Return the rows of radii, between rows too."""
        return np.asarray((radius - self.radii[0]) / (self.radii[1] - self.radii[0]), np.float64)


def disc_about(
    picture: Picture, frame: Frame, furthest: float, columns: int, rows: int, along_deg: float
) -> Disc:
    """Unroll what lies within ``furthest`` work pixels of a centre.

    Args:
        picture: the small picture.
        frame: centre and tilt.
        furthest: radius, work pixels.
        columns: for the whole circle.
        rows: for the radius, at most; no finer than a work pixel.
        along_deg: smoothing along the circles before the step is taken, standard deviation.
    """
    count = int(min(rows, max(24, furthest)))
    radii = np.linspace(furthest / count, furthest, count)
    angles = np.arange(columns) * (2 * math.pi / columns)
    round_ = np.column_stack([np.cos(angles), np.sin(angles)]) @ np.linalg.inv(frame.level).T
    at = (radii[:, None, None] * round_ + frame.centre).astype(np.float32)
    return _unrolled(picture, frame, radii, at, along_deg)


def disc_of_plane(picture: Picture, plane: FacePlane, furthest: float, along_deg: float) -> Disc:
    """Unroll the surroundings of a face with its perspective taken out, as fine as the picture.

    Args:
        picture: full resolution.
        plane: of a face or another ring of the same part, in its pixels.
        furthest: radius, in outer radii of ``plane``.
        along_deg: as for ``disc_about``.

    Returns:
        The disc; its radii are counted in rows, so that all small lengths hold at its own resolution.
    """
    rows = disc_rows(plane, furthest)
    radii = np.arange(1.0, math.ceil(furthest * rows) + 1)
    angles = np.arange(_FINE_COLUMNS) * (2 * math.pi / _FINE_COLUMNS)
    way = np.column_stack([np.cos(angles), -np.sin(angles), np.zeros(_FINE_COLUMNS)]) @ plane.to_px.T
    spread = (radii / rows).astype(np.float32)[:, None, None]
    seen = spread * way.astype(np.float32) + plane.to_px[:, 2].astype(np.float32)
    at = seen[..., :2] / seen[..., 2:]
    return _unrolled(picture, Frame(np.zeros(2), np.eye(2)), radii, at, along_deg)


def disc_rows(plane: FacePlane, furthest: float) -> float:
    """Rows to an outer radius of the fine disc that reaches ``furthest`` outer radii."""
    scale = float(np.sqrt(abs(np.linalg.det(plane.to_px[:2, :2]))))
    return min(scale * _FINE_PER_PX, _FINE_ROWS, _FINE_ROWS_IN_ALL / furthest)


def _unrolled(picture: Picture, frame: Frame, radii: Array, at: Map, along_deg: float) -> Disc:
    height, width = picture.shape[:2]
    x, y = at[..., 0], at[..., 1]
    inside = np.asarray((x >= 0) & (y >= 0) & (x <= width - 1) & (y <= height - 1), np.bool_)
    strip = cv2.remap(picture, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    colours = np.asarray(cv2.transform(strip.astype(np.float32), _COLOUR), np.float32)
    step = _steps(colours, inside, along_deg * at.shape[1] / 360)
    return Disc(frame, radii, colours, inside, step, _extremes(step) & inside)


def _steps(colours: Map, inside: NDArray[np.bool_], along: float) -> Map:
    pad = math.ceil(3 * along)
    wrapped = cv2.copyMakeBorder(colours, 0, 0, pad, pad, cv2.BORDER_WRAP)
    smooth = cv2.GaussianBlur(wrapped, (0, 0), sigmaX=along, sigmaY=_ACROSS)[:, pad:-pad]
    steps = (smooth[2:] - smooth[:-2]) / 2
    step = np.zeros(smooth.shape[:2], np.float32)
    within = step[1:-1]
    within[:] = steps[..., 0]
    largest = np.abs(within)
    for channel in (1, 2):
        size = np.abs(steps[..., channel])
        more = size > largest
        np.copyto(within, steps[..., channel], where=more)
        np.copyto(largest, size, where=more)
    usual = middle(np.abs(step[inside])) if inside.any() else 0.0
    return np.asarray(step / max(usual, _FLOOR), np.float32)


def _extremes(step: Map) -> NDArray[np.bool_]:
    size = np.abs(step)
    hits = np.zeros(step.shape, bool)
    middle = size[1:-1]
    hits[1:-1] = (middle >= size[:-2]) & (middle > size[2:]) & (middle > _HIT)
    return hits
