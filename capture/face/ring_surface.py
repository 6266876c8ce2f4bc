"""What the surface between two edges is like, and what lies beside it: grain, light round about, colour.

One flat face has one light all over, a grain (it was lapped) and a colour. A bevel, a wall or a step takes
light of its own, a shell or a boot has another grain and colour. How far rings of the surface differ from
one another was tried and left: a bold track of another renderer was then taken for the face.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.middle import middles
from capture.face.ring_curves import Edge
from capture.face.ring_disc import Disc

Array = NDArray[np.float64]
Index = NDArray[np.int64]

_COLUMNS = 45
#: Rows that an edge spreads over; width of the band beside it, shares of the radius, rows at least.
_EDGE_ROWS, _BAND, _LEAST_ROWS = 2.0, 0.03, 6.0
#: Grey levels added before light is compared as a ratio, and before grain is; less swing and hue is none.
_DARK, _FINE, _SWING, _HUE = 10.0, 0.3, 0.02, 0.01
#: Channels: grain, logarithm of the light, light, two colour differences.
_GRAIN, _LOG, _LIGHT, _HUES = 0, 1, 2, slice(3, 5)


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """A disc in few columns, summed up along the radius."""

    sums: Array
    """Shape = (rows + 1, columns, channels)."""
    usual_grain: float

    def means(self, start: Array, stop: Array) -> Array:
        """Return the means from rows to rows farther out, over one row at least.

        Args:
            start: shape = (bands, columns).
            stop: the same.

        Returns:
            Shape = (bands, columns, channels).
        """
        last = len(self.sums) - 1
        first = np.clip(np.round(start).astype(np.int64), 0, last - 1)
        end = np.clip(np.round(stop).astype(np.int64), first + 1, last)
        flat = self.sums.reshape(-1, self.sums.shape[2])
        upto = [flat.take(at * _COLUMNS + np.arange(_COLUMNS), axis=0) for at in (first, end)]
        return np.asarray((upto[1] - upto[0]) / (end - first)[..., None], np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class _Bands:
    """What bands are like round about, shape = (bands, ...)."""

    grain: Array
    light: Array
    """Wave of the logarithm of the light, cosine and sine, shape = (bands, 2)."""
    second: Array
    """Size of its second wave."""
    rest: Array
    """Spread of what the first wave leaves."""
    hue: Array
    """Shape = (bands, 2)."""


def surface_measures(disc: Disc, edges: list[Edge], outer: Index, inner: Index) -> dict[str, Array]:
    """Measure every pair of edges.

    Args:
        disc: as fine as the picture.
        edges: of it.
        outer: index of each pair's outer edge, shape = (pairs,).
        inner: of its inner edge.

    Returns:
        Name of a measure to its values, shape = (pairs,) each.
    """
    cells = _cells(disc)
    angles = np.asarray((np.arange(_COLUMNS) + 0.5) * (2 * np.pi / _COLUMNS), np.float64)
    rows = np.array([disc.row(edge.curve.radius(angles)) for edge in edges])
    wide = np.maximum(_BAND * rows.mean(axis=1, keepdims=True), _LEAST_ROWS)
    within = _bands(cells, rows - _EDGE_ROWS - wide, rows - _EDGE_ROWS + 1)
    beyond = _bands(cells, rows + _EDGE_ROWS, rows + _EDGE_ROWS + wide + 1)
    whole = _bands(cells, rows[inner] + _EDGE_ROWS, rows[outer] - _EDGE_ROWS + 1)
    return (
        _of_grain(cells, whole, within, beyond, outer, inner)
        | _of_light(whole, within, beyond, outer, inner)
        | _of_hue(within, beyond, outer, inner)
    )


def _cells(disc: Disc) -> _Cells:
    light = disc.picture[..., 0]
    beside = np.roll(light, 1, axis=1) + np.roll(light, -1, axis=1)
    # Circles hardly change from column to column: what does is grain, or the picture's noise.
    grain = np.abs(light - 0.5 * beside)
    fine = np.dstack([grain, light, light, disc.picture[..., 1], disc.picture[..., 2]])
    few = cv2.resize(fine, (_COLUMNS, len(light)), interpolation=cv2.INTER_AREA).astype(np.float64)
    few[..., _LOG] = np.log(np.maximum(few[..., _LIGHT], 0.0) + _DARK)
    sums = np.concatenate([np.zeros((1, *few.shape[1:])), np.cumsum(few, axis=0)])
    return _Cells(sums, float(np.median(few[..., _GRAIN])))


def _bands(cells: _Cells, start: Array, stop: Array) -> _Bands:
    """What lies between two rows of each column, shape = (bands, columns)."""
    mean = cells.means(start, stop)
    wave, second, rest = _waves(mean[..., _LOG])
    middle = middles(np.moveaxis(mean[..., 2:], 1, 2))
    hue = middle[:, 1:] / (middle[:, :1] + _DARK)
    grain = np.log(middles(mean[..., _GRAIN]) + _FINE)
    return _Bands(grain, wave, second, rest, hue)


def _waves(values: Array) -> tuple[Array, Array, Array]:
    """First wave (bands, 2), size of the second and spread of the rest, of values round the circle."""
    angles = (np.arange(_COLUMNS) + 0.5) * (2 * np.pi / _COLUMNS)
    first = np.column_stack([np.cos(angles), np.sin(angles)])
    level = middles(values)
    wave = values @ first * (2 / _COLUMNS)
    second = values @ np.column_stack([np.cos(2 * angles), np.sin(2 * angles)]) * (2 / _COLUMNS)
    left = values - level[:, None] - wave @ first.T
    return wave, np.hypot(second[:, 0], second[:, 1]), middles(np.abs(left))


def _of_grain(
    cells: _Cells, whole: _Bands, within: _Bands, beyond: _Bands, outer: Index, inner: Index
) -> dict[str, Array]:
    out = within.grain[outer] - beyond.grain[outer]
    into = beyond.grain[inner] - within.grain[inner]
    return {
        "grain_outer": out,
        "grain_inner": into,
        "grain_outer_size": np.abs(out),
        "grain_inner_size": np.abs(into),
        "grain_unlike": np.abs(within.grain[outer] - beyond.grain[inner]),
        "grain_level": whole.grain - np.log(cells.usual_grain + _FINE),
    }


def _of_light(whole: _Bands, within: _Bands, beyond: _Bands, outer: Index, inner: Index) -> dict[str, Array]:
    face, out, into = (_log(_size(one.light), _SWING) for one in (whole, beyond, within))
    return {
        "swing_face": face,
        "swing_beyond": out[outer],
        "swing_within": into[inner],
        "swing_more_beyond": out[outer] - face,
        "swing_more_within": into[inner] - face,
        "second_face": _log(whole.second, _SWING),
        "rest_face": _log(whole.rest, _SWING),
        "rest_beyond": _log(beyond.rest, _SWING)[outer],
        "rest_within": _log(within.rest, _SWING)[inner],
    }


def _of_hue(within: _Bands, beyond: _Bands, outer: Index, inner: Index) -> dict[str, Array]:
    return {
        "hue_outer": _log(_size(within.hue[outer] - beyond.hue[outer]), _HUE),
        "hue_inner": _log(_size(within.hue[inner] - beyond.hue[inner]), _HUE),
        "hue_unlike": _log(_size(within.hue[outer] - beyond.hue[inner]), _HUE),
        "hue_bounds": _log(_size(beyond.hue[outer] - within.hue[inner]), _HUE),
    }


def _size(vectors: Array) -> Array:
    return np.asarray(np.hypot(vectors[..., 0], vectors[..., 1]), np.float64)


def _log(values: Array, least: float) -> Array:
    return np.asarray(np.log(values + least), np.float64)
