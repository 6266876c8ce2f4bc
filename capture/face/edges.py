"""Edge points of a picture, made small: where brightness or colour steps, and in which direction."""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.picture_quality import Picture

#: The longer side that edges are looked for at; finer detail is texture, not the outline of a part.
WORK_PX = 640
#: Smoothing before the gradient, work pixels.
_SMOOTH_PX = 1.2
#: A step is an edge from so many times the usual gradient of the picture on, and seeds one from so many.
_WEAK, _SEED = 1.6, 3.5
#: Grey levels a pixel below which a gradient is rounding, whatever the usual one is.
_FLOOR = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class SmallPicture:
    """A picture at the size that edges are looked for at."""

    picture: Picture
    """Shape = (height, width, 3), smoothed a little."""
    shrink: float
    """Work pixels for a pixel of the picture, at most 1."""

    @property
    def size(self) -> tuple[int, int]:
        """Width and height."""
        return int(self.picture.shape[1]), int(self.picture.shape[0])

    def to_full(self, homography: NDArray[np.float64]) -> NDArray[np.float64]:
        """Carry a homography to work pixels over into one to pixels of the whole picture."""
        half = 0.5 / self.shrink - 0.5
        grow = np.array([[1 / self.shrink, 0, half], [0, 1 / self.shrink, half], [0, 0, 1.0]])
        return np.asarray(grow @ homography, np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class EdgePoints:
    """Edge points, in work pixels."""

    at: NDArray[np.float32]
    """Shape = (n, 2)."""
    towards: NDArray[np.float32]
    """Unit vectors towards the brighter side, shape = (n, 2)."""


def small_picture(picture: Picture, side: int = WORK_PX, smooth_px: float = _SMOOTH_PX) -> SmallPicture:
    """Make a picture small enough to look for edges quickly; a small one stays as it is.

    Args:
        picture: shape = (height, width, 3), uint8.
        side: the longer side that is wanted at most, pixels.
        smooth_px: standard deviation of the smoothing after it.
    """
    height, width = picture.shape[:2]
    shrink = min(1.0, side / max(height, width))
    if shrink < 1.0:
        size = (max(1, round(width * shrink)), max(1, round(height * shrink)))
        picture = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)
    smooth = cv2.GaussianBlur(picture, (0, 0), smooth_px)
    return SmallPicture(np.asarray(smooth, np.uint8), shrink)


def edge_points(small: SmallPicture) -> EdgePoints:
    """Find edge points in the channel that steps most at each place."""
    along_x, along_y = _strongest_gradient(small.picture)
    usual = max(_usual(along_x) + _usual(along_y), _FLOOR * 8)
    edges = cv2.Canny(along_x, along_y, _WEAK * usual, _SEED * usual, L2gradient=True)
    y, x = np.nonzero(edges)
    towards = np.column_stack([along_x[y, x], along_y[y, x]]).astype(np.float32)
    towards /= np.maximum(np.linalg.norm(towards, axis=1, keepdims=True), 1e-6)
    return EdgePoints(np.column_stack([x, y]).astype(np.float32), towards)


def _usual(gradient: NDArray[np.int16]) -> float:
    """Return the median size, by counting: whole numbers are few."""
    counts = np.cumsum(np.bincount(np.abs(gradient).ravel()))
    half = int(counts[-1]) // 2
    above = int(np.searchsorted(counts, half, side="right"))
    below = above if counts[-1] % 2 else int(np.searchsorted(counts, half - 1, side="right"))
    return (below + above) / 2


def _strongest_gradient(picture: Picture) -> tuple[NDArray[np.int16], NDArray[np.int16]]:
    """Sobel gradients, shape = (height, width) each, of the channel with the largest one."""
    x = cv2.Sobel(picture, cv2.CV_16S, 1, 0)
    y = cv2.Sobel(picture, cv2.CV_16S, 0, 1)
    if picture.ndim == 2:
        return np.asarray(x, np.int16), np.asarray(y, np.int16)
    best_x, best_y = x[..., 0].copy(), y[..., 0].copy()
    best = np.abs(best_x) + np.abs(best_y)
    for channel in (1, 2):
        size = np.abs(x[..., channel]) + np.abs(y[..., channel])
        more = size > best
        np.copyto(best, size, where=more)
        np.copyto(best_x, x[..., channel], where=more)
        np.copyto(best_y, y[..., channel], where=more)
    return np.asarray(best_x, np.int16), np.asarray(best_y, np.int16)
