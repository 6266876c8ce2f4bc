"""How blurred a whole picture is: asked where no face was found, since blur may be why.

As :mod:`capture.face.focus`, at single pixels where the slope is greatest across an edge. The sharp ones of
the strongest edges count, in each direction apart: a picture has soft shading and far things as well, and a
movement leaves the edges along it sharp. Slopes that fade with smoothing faster than those of the sharpest
edge are grain.
"""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.focus import COARSE_PX, FINE_PX, FaceBlur, blur_by_direction, square_of_ratio

#: The picture is looked at with this longer side at most; with the others where that shows no edge.
_LONGEST_PX = (1280, 480, 180)
#: Slope of an edge in standard deviations of the noise's slope, at least; and in grey levels a pixel.
_CLEAR, _LEAST_SLOPE = 8.0, 1.0
#: Directions apart, edge pixels that one must have, the share of them that is looked at (the strongest), and
#: the share of those that is sharp in a sharp picture.
_DIRECTIONS, _FEWEST, _STRONG_SHARE, _SHARP_SHARE = 12, 60, 0.4, 0.25
#: In smaller pictures fewer are enough, but so many at least.
_FEWEST_SMALL = 10
#: Fine over coarse slope of a perfect edge is 3 (the ratio of the smoothings), of grain 9.
_GRAIN_RATIO = 3.6
#: Noise grows with the light: it is estimated for so many bands of grey levels apart.
_BANDS = 8


def picture_blur(grey: NDArray[np.uint8]) -> FaceBlur:
    """Measure the blur of a picture; nan where it has hardly an edge.

    Edges so soft that they drown in the noise are looked for in smaller pictures, which have less of both.

    Args:
        grey: shape = (height, width).
    """
    blur = FaceBlur(math.nan, math.nan, 0.0, 0.0)
    for longest in _LONGEST_PX:
        shrink = min(1.0, longest / max(grey.shape))
        size = (max(1, round(grey.shape[1] * shrink)), max(1, round(grey.shape[0] * shrink)))
        looked_at = cv2.resize(grey, size, interpolation=cv2.INTER_AREA) if shrink < 1 else grey
        blur = _measured(np.asarray(looked_at, np.uint8), shrink)
        if not math.isnan(blur.most_px):
            break
    return blur


def _measured(grey: NDArray[np.uint8], shrink: float) -> FaceBlur:
    squares, towards, strength = _edges(grey)
    bins = np.asarray(np.floor(towards / 180 * _DIRECTIONS), np.int64) % _DIRECTIONS
    sharp, middle = [], []
    for number in range(_DIRECTIONS):
        own = np.flatnonzero(bins == number)
        if own.size >= max(_FEWEST * shrink, _FEWEST_SMALL):
            strong = own[strength[own] >= np.quantile(strength[own], 1 - _STRONG_SHARE)]
            sharp.append(float(np.quantile(squares[strong], _SHARP_SHARE)) / shrink**2)
            middle.append((number + 0.5) * 180 / _DIRECTIONS)
    seen = len(sharp) / _DIRECTIONS
    if len(sharp) < _DIRECTIONS // 3:
        return FaceBlur(math.nan, math.nan, 0.0, seen)
    return blur_by_direction(np.array(sharp), np.array(middle), seen)


def _edges(
    grey: NDArray[np.uint8],
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return square of the blur, direction across and slope of every clear edge pixel, each shape = (n,)."""
    levels = grey.astype(np.float32)
    right, down = _gradient(levels, FINE_PX)
    size = np.asarray(cv2.magnitude(right, down), np.float32)
    grain = _grain(grey, size)
    clear = size > np.maximum(_CLEAR * grain, _LEAST_SLOPE)[grey]
    rows, columns = np.nonzero(clear[2:-2, 2:-2])
    rows, columns = rows + 2, columns + 2
    here = size[rows, columns]
    step_x = np.rint(right[rows, columns] / here).astype(np.int64)
    step_y = np.rint(down[rows, columns] / here).astype(np.int64)
    top = (here >= size[rows + step_y, columns + step_x]) & (here > size[rows - step_y, columns - step_x])
    rows, columns, here = rows[top], columns[top], here[top]
    far_right, far_down = _gradient(levels, COARSE_PX)
    coarse = np.hypot(far_right[rows, columns], far_down[rows, columns])
    edge = here < _GRAIN_RATIO * coarse
    rows, columns, here, coarse = rows[edge], columns[edge], here[edge], coarse[edge]
    squares = square_of_ratio((here - 2 * grain[grey[rows, columns]]) / coarse)
    towards = np.degrees(np.arctan2(-down[rows, columns], right[rows, columns])) % 180
    return squares, np.asarray(towards, np.float64), np.asarray(coarse, np.float64)


def _grain(grey: NDArray[np.uint8], size: NDArray[np.float32]) -> NDArray[np.float64]:
    """Return the standard deviation of the noise's slope at each grey level, shape = (256,).

    Noise is everywhere, edges are not: the median of its slope's size is 1.18 standard deviations (Rayleigh).
    """
    some, slopes = grey[::3, ::3].ravel(), size[::3, ::3].ravel()
    band = np.minimum(some // (256 // _BANDS), _BANDS - 1)
    everywhere = float(np.median(slopes))
    medians = [slopes[band == n] for n in range(_BANDS)]
    found = [float(np.median(m)) if m.size > 200 else everywhere for m in medians]
    return np.repeat(np.array(found) / 1.18, 256 // _BANDS)


def _gradient(levels: NDArray[np.float32], sigma: float) -> tuple[NDArray[np.float32], NDArray[np.float32]]:
    """Return the slopes to the right and down of levels smoothed by a Gaussian, per pixel."""
    reach = math.ceil(3.5 * sigma)
    x = np.arange(-reach, reach + 1, dtype=np.float64)
    bell = np.exp(-(x**2) / (2 * sigma**2))
    slope, smooth = x * bell / (x**2 * bell).sum(), bell / bell.sum()
    right = cv2.sepFilter2D(levels, cv2.CV_32F, slope, smooth, borderType=cv2.BORDER_REPLICATE)
    down = cv2.sepFilter2D(levels, cv2.CV_32F, smooth, slope, borderType=cv2.BORDER_REPLICATE)
    return np.asarray(right, np.float32), np.asarray(down, np.float32)
