"""How much each pixel of a face looks as if it lay on a thin line: oriented sums against their two sides.

A thin mark is lighter or darker than the face on both of its sides; the edge of a patch is so on one side
only. The response is therefore the mean along a short straight piece less the nearer of the means of the
two pieces beside it, in sixteen directions, two lengths and two scales. Each is taken in its own robust
standard deviations over the whole face, so that lay and grain, which make some directions restless, ask
more of a mark in those directions.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.ground import MAD, Map
from capture.face.middle import middles

Whole = NDArray[np.int16]

_DIRECTIONS = 16
#: Doublings: pieces of 8, 16 and 32 pixels of their scale.
_LENGTHS = (3, 4, 5)
#: How far beside a line its sides are, in pixels of the scale.
_ASIDE = 3.0
#: One speck is no line: a pixel counts for no more than so many standard deviations.
_MOST_OF_ONE_PIXEL = 6.0
#: Whole numbers of one standard deviation: sums of 16 stay within 16 bits (16 * 6 * 256 / 4 < 32768 with
#: the division by four of the smoothing).
_UNIT = 256.0
_PAD = 40


@dataclass(frozen=True, slots=True, eq=False)
class Streaks:
    """Responses in robust standard deviations, each of shape = (rows, columns)."""

    light: Map
    dark: Map


def streaks_of(signal: Map) -> Streaks:
    """Return how much each pixel lies on a light and on a dark line.

    Args:
        signal: stray of each pixel in standard deviations, shape = (rows, columns), the ring closed.
    """
    fine = _responses(signal)
    rows, columns = signal.shape
    half = np.asarray(
        cv2.resize(signal, ((columns + 1) // 2, (rows + 1) // 2), interpolation=cv2.INTER_AREA), np.float32
    )
    coarse = _responses(half / np.float32(max(MAD * float(np.median(np.abs(half[:, ::3]))), 0.2)))
    both = [
        np.maximum(one, cv2.resize(two, (columns, rows), interpolation=cv2.INTER_LINEAR))
        for one, two in zip(fine, coarse, strict=True)
    ]
    return Streaks(np.asarray(both[0], np.float32), np.asarray(both[1], np.float32))


def _responses(signal: Map) -> tuple[Map, Map]:
    """Return the largest response over directions and lengths: of light and of dark lines."""
    clipped = np.clip(signal, -_MOST_OF_ONE_PIXEL, _MOST_OF_ONE_PIXEL)
    wide = np.hstack([clipped[:, -_PAD:], clipped, clipped[:, :_PAD]])
    tall = cv2.copyMakeBorder(wide, _PAD, _PAD, 0, 0, cv2.BORDER_REFLECT_101)
    smooth = cv2.GaussianBlur(tall, (3, 3), 0)
    whole = np.asarray(np.round(smooth * (_UNIT / 4)), np.int16)
    light = np.full(signal.shape, -np.inf, np.float32)
    dark = np.full(signal.shape, -np.inf, np.float32)
    for direction in range(_DIRECTIONS):
        angle = math.pi * direction / _DIRECTIONS
        _one_direction(whole, angle, light, dark)
    return light, dark


def _one_direction(whole: Whole, angle: float, light: Map, dark: Map) -> None:
    along = (math.sin(angle), math.cos(angle))
    aside = (round(_ASIDE * math.cos(angle)), round(-_ASIDE * math.sin(angle)))
    total = whole
    for doubling in range(max(_LENGTHS)):
        total = _added(total, (round(2**doubling * along[0]), round(2**doubling * along[1])))
        if doubling + 1 in _LENGTHS:
            back = 2 ** (doubling + 1) - 1
            start = (round(-back * along[0] / 2), round(-back * along[1] / 2))
            middle = _seen(total, start, light.shape)
            one = _seen(total, (start[0] + aside[0], start[1] + aside[1]), light.shape)
            other = _seen(total, (start[0] - aside[0], start[1] - aside[1]), light.shape)
            up = middle - np.maximum(one, other)
            down = np.minimum(one, other) - middle
            unit = _unit_of(middle, one, other)
            np.maximum(light, up * unit, out=light)
            np.maximum(dark, down * unit, out=dark)


def _unit_of(middle: Whole, one: Whole, other: Whole) -> np.float32:
    """Return one by the robust standard deviation of a line's response."""
    some = (slice(None, None, 3), slice(None, None, 7))
    response = middle[some] - (one[some].astype(np.float32) + other[some]) / 2
    return np.float32(1 / max(MAD * float(middles(np.abs(response).ravel())), 1.0))


def _added(total: Whole, step: tuple[int, int]) -> Whole:
    """Return each pixel and the one a step from it together; what falls outside counts nothing."""
    down, right = step
    rows, columns = total.shape
    out = total.copy()
    out[: rows - down, max(0, -right) : columns - max(0, right)] += total[
        down:, max(0, right) : columns + min(0, right)
    ]
    return out


def _seen(total: Whole, offset: tuple[int, int], shape: tuple[int, ...]) -> Whole:
    """Return the face as seen from an offset, without the padding."""
    top, left = _PAD + offset[0], _PAD + offset[1]
    return total[top : top + shape[0], left : left + shape[1]]
