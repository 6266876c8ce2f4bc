"""How blurred the face is, measured where its edges are, in each direction.

An edge blurred to a standard deviation s has, smoothed further by a and by b, slopes in the ratio R with
R² = (s² + b²) / (s² + a²); so s² = (b² - R² a²) / (R² - 1), whatever the contrast (after Zhuo and Sim,
Defocus map estimation from a single image, Pattern Recognition 44, 2011, from memory). The sharpest clear
edge of an arc counts: shading is soft in the sharpest of pictures. Defocus is the same in all directions;
movement blurs only the edges that lie across it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.edge_profiles import EdgeProfiles

#: The two smoothings, pixels.
FINE_PX, COARSE_PX = 1.0, 3.0
#: Slope of an edge in standard errors of its arc, at least; and in grey levels a pixel.
_CLEAR, _LEAST_SLOPE = 8.0, 0.4
#: Blur that is told apart at most, pixels.
MOST_PX = 12.0
#: Edges so far outside the flat face still count as its own, pixels across.
_BESIDE_PX = 4.0
#: Edges so much weaker than the strongest of their arc do not count, by slope after the coarse smoothing.
_STRONG_SHARE = 0.4
#: Directions told apart; the share of a sector's edges that are taken for its sharper ones; and from which
#: end of the sorted sectors the longest and the shortest blur are: the second.
_SECTORS, _SHARPER_SHARE, _ODD = 12, 0.3, 2
#: Arcs that must have a clear edge, share.
LEAST_SEEN = 0.15


@dataclass(frozen=True, slots=True)
class FaceBlur:
    """Standard deviations of the blur in pixels of the picture, along and across its longest direction."""

    most_px: float
    least_px: float
    towards_deg: float
    """Direction in which the blur is longest, counter-clockwise from the right, 0 to 180."""
    seen: float
    """Share of the arcs that had a clear edge."""


def face_blur(profiles: EdgeProfiles) -> FaceBlur:
    """Measure the blur of a face."""
    squares = _squares(profiles)
    good = np.isfinite(squares) & profiles.inside
    seen = float(good.sum() / max(profiles.inside.sum(), 1))
    if seen < LEAST_SEEN:
        return FaceBlur(math.nan, math.nan, 0.0, seen)
    return blur_by_direction(squares[good], profiles.towards_deg[good], seen)


def _squares(profiles: EdgeProfiles) -> NDArray[np.float64]:
    """Return the square of the blur of each arc's sharpest clear edge, pixels squared; nan without one."""
    arcs, lines, samples = profiles.lines.shape
    each = profiles.lines.reshape(-1, samples)
    fine = slopes(each, FINE_PX / profiles.step_px).reshape(arcs, lines, samples) / profiles.step_px
    size = np.abs(fine.mean(axis=1))
    error = np.median(fine[:, :, ::3].std(axis=1), axis=1)[:, None] / math.sqrt(lines)
    coarse = np.abs(slopes(profiles.lines.mean(axis=1), COARSE_PX / profiles.step_px)) / profiles.step_px
    peak = np.zeros(size.shape, np.bool_)
    peak[:, 1:-1] = (size[:, 1:-1] >= size[:, :-2]) & (size[:, 1:-1] > size[:, 2:])
    peak &= (profiles.beside_px < _BESIDE_PX) & (size > np.maximum(_CLEAR * error, _LEAST_SLOPE))
    beside = profiles.beside_px < _BESIDE_PX
    peak &= coarse >= _STRONG_SHARE * np.where(beside, coarse, 0).max(axis=1, keepdims=True)
    # What noise may have added is taken off: of several edges the surest counts, not the noisiest.
    squares = square_of_ratio((size - 2 * error) / np.maximum(coarse, 1e-6))
    least = np.where(peak, squares, np.inf).min(axis=1)
    return np.where(np.isfinite(least), least, np.nan)


def square_of_ratio(ratio: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the square of the blur, pixels squared, of fine slope over coarse slope."""
    square = (COARSE_PX**2 - ratio**2 * FINE_PX**2) / np.maximum(ratio**2 - 1, 1e-3)
    return np.asarray(np.clip(square, 0.0, MOST_PX**2), np.float64)


def slopes(lines: NDArray[np.float32], sigma: float) -> NDArray[np.float32]:
    """Return the slope per sample of lines smoothed by a Gaussian of so many samples, same shape."""
    reach = math.ceil(4 * sigma)
    x = np.arange(-reach, reach + 1, dtype=np.float64)
    bell = np.exp(-(x**2) / (2 * sigma**2))
    kernel = x * bell / (x**2 * bell).sum()
    sloped = cv2.filter2D(lines, cv2.CV_32F, kernel[None], borderType=cv2.BORDER_REPLICATE)
    return np.asarray(sloped, np.float32)


def blur_by_direction(
    squares: NDArray[np.float64], towards_deg: NDArray[np.float64], seen: float
) -> FaceBlur:
    """Return the blur of edges whose squares of blur and directions across are given, each shape = (n,).

    Of each sector the sharper edges count: an edge that is rounded or in a soft shadow on one side of the
    ring is often sharp on the other. Medians of three neighbours, so that one odd sector does not count.
    """
    sector = np.asarray(np.floor(towards_deg / 180 * _SECTORS), np.int64) % _SECTORS
    own = [np.sqrt(squares[sector == n]) for n in range(_SECTORS)]
    sharper = [float(np.quantile(s, _SHARPER_SHARE)) if s.size else np.nan for s in own]
    around = np.array([np.roll(sharper, shift) for shift in (-1, 0, 1)])
    around = around[:, np.isfinite(around).any(axis=0)]
    known = np.sort(np.nanmedian(around, axis=0))
    return FaceBlur(
        most_px=float(known[-min(_ODD, len(known))]),
        least_px=float(known[min(_ODD, len(known)) - 1]),
        towards_deg=_longest(squares, towards_deg),
        seen=seen,
    )


def _longest(squares: NDArray[np.float64], towards_deg: NDArray[np.float64]) -> float:
    """Return the direction of the longest blur, degrees, from the best s² = mean + swing cos 2 (...)."""
    double = np.radians(2 * towards_deg)
    terms = np.column_stack([np.ones_like(double), np.cos(double), np.sin(double)])
    _, even, odd = np.linalg.lstsq(terms, squares, rcond=None)[0]
    return math.degrees(math.atan2(float(odd), float(even))) / 2 % 180
