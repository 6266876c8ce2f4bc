"""What speaks for two edges being those of the flat face, measured for every pair of curves of a disc.

The face is one surface: just within its outer edge it must look as it does just outside its inner edge, have
one shading round about and nothing sharp between, while both edges bound something else: a chamfer, a step,
another material, the bore. Wear tracks lie within the face and change it little.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.middle import middles
from capture.face.ring_curves import Edge
from capture.face.ring_disc import Disc
from capture.face.ring_margins import edge_margins

Array = NDArray[np.float64]
Index = NDArray[np.intp]

#: Radius of the inner edge in outer radii that is believed of a face at all: 30 % to 4 % of radius wide.
LEAST_BORE, MOST_BORE = 0.42, 0.96
_COLUMNS = 90
#: Work pixels that an edge spreads over, left out beside it; and the width of a band beside an edge.
_EDGE_PX, _BAND_PX = 2.0, 4.0
#: Grey levels that are added before brightnesses are compared as ratios: below, noise and stray light rule.
_DARK = 10.0

#: Measures that are never below nothing and spread widely are taken as log(value + this): twice as much
#: counts alike at every size, and nothing at all is no cliff.
_LOGGED = {
    "unlike": 0.02, "unlike_colour": 0.02, "jump_across": 0.02, "swing_across": 0.02, "rest_across": 0.01,
    "spread": 0.02, "spread_most": 0.02, "round_about": 0.03, "slope": 0.02, "bend_size": 0.02,
    "shift": 0.003, "tilt_differs": 0.003, "opposed": 0.03, "agreed": 0.03, "off_between": 0.03,
    "jump_outer": 0.03, "jump_inner": 0.03, "swing_outer": 0.1, "swing_inner": 0.1, "rest_outer": 0.02,
    "rest_inner": 0.02,
    "swing_between": 0.1, "jump_between": 0.03, "contrast_outer": 0.02, "contrast_inner": 0.02,
    "colour_outer": 0.02, "colour_inner": 0.02, "bounds_alike": 0.05, "bore_spread": 0.02,
}  # fmt: skip

Measures = dict[str, Array]
"""Name of a measure to its values, shape = (pairs,) each."""


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Every pair of edges that may be a face, and its measures."""

    outer: NDArray[np.int64]
    """Index of the outer edge, shape = (pairs,)."""
    inner: NDArray[np.int64]
    measures: Measures


@dataclass(frozen=True, slots=True, eq=False)
class _Bands:
    """Sums along the radius, from which the mean of any band follows."""

    rows: Array
    """Of the edges, shape = (edges, columns)."""
    sums: Array
    """Shape = (rows + 1, columns, 4): brightness, two colour differences, brightness squared."""
    light: Array
    """Sums of the brightness alone, shape = (rows + 1, columns)."""
    span: float
    """Spread of brightness in the disc."""

    def mean(self, first: Array, last: Array) -> Array:
        """Return the means over rows ``first`` to ``last``, shape = (n, columns, 4)."""
        start, stop, column = self._from_to(first, last)
        sums = self.sums.reshape(-1, self.sums.shape[2])
        total = sums.take(stop * len(column) + column, axis=0)
        total -= sums.take(start * len(column) + column, axis=0)
        total /= (stop - start)[..., None]
        return total

    def mean_light(self, first: Array, last: Array) -> Array:
        """Return the mean brightness over rows ``first`` to ``last``, shape = (n, columns)."""
        start, stop, column = self._from_to(first, last)
        sums = self.light.ravel()
        total = sums.take(stop * len(column) + column) - sums.take(start * len(column) + column)
        return np.asarray(total / (stop - start), np.float64)

    def _from_to(self, first: Array, last: Array) -> tuple[Index, Index, Index]:
        most = len(self.sums) - 1
        start = np.minimum(np.maximum(np.rint(first), 0), most - 1).astype(np.intp)
        stop = np.minimum(np.maximum(np.rint(last), start + 1), most).astype(np.intp)
        return start, stop, np.arange(self.sums.shape[1])


def measure(disc: Disc, edges: list[Edge]) -> Pairs:
    """Measure every pair of edges of which one may lie round the other."""
    sizes = np.array([edge.curve.size for edge in edges])
    ratio = sizes[None, :] / sizes[:, None]
    outer, inner = np.nonzero((ratio > LEAST_BORE) & (ratio < MOST_BORE))
    pairs = Pairs(outer, inner, {})
    if len(outer):
        bands = _bands(disc, edges)
        beside = _beside(bands)
        for part in (
            _of_edges(edges, bands, beside, pairs),
            _of_likeness(bands, beside, pairs),
            _of_annulus(bands, beside, pairs),
            _of_geometry(disc, edges, pairs),
            _of_others(edges, pairs),
            _of_jumps(edges, beside, pairs),
            _of_heights(edges, pairs),
            _of_margins(edges, bands, pairs),
        ):
            pairs.measures.update(part)
        for name, least in _LOGGED.items():
            pairs.measures[name] = np.log(pairs.measures[name] + least)
    return pairs


def _bands(disc: Disc, edges: list[Edge]) -> _Bands:
    count = len(disc.radii)
    small = cv2.resize(disc.picture, (_COLUMNS, count), interpolation=cv2.INTER_AREA).astype(np.float64)
    values = np.concatenate([small, small[..., :1] ** 2], axis=2)
    sums = np.concatenate([np.zeros((1, _COLUMNS, 4)), np.cumsum(values, axis=0)])
    angles = np.asarray((np.arange(_COLUMNS) + 0.5) * (2 * np.pi / _COLUMNS), np.float64)
    rows = np.array([disc.row(edge.curve.radius(angles)) for edge in edges])
    low, high = np.percentile(small[..., 0], (3, 97))
    return _Bands(rows, sums, np.ascontiguousarray(sums[..., 0]), max(float(high - low), 12.0))


def _beside(bands: _Bands) -> tuple[Array, Array]:
    """Means of the bands within and outside of each edge, shape = (edges, columns, 4) each."""
    before = bands.mean(bands.rows - _EDGE_PX - _BAND_PX, bands.rows - _EDGE_PX + 1)
    behind = bands.mean(bands.rows + _EDGE_PX, bands.rows + _EDGE_PX + _BAND_PX + 1)
    return before, behind


def _of_edges(edges: list[Edge], bands: _Bands, beside: tuple[Array, Array], pairs: Pairs) -> Measures:
    change = (beside[1] - beside[0]) / bands.span
    strength = np.log(np.array([edge.strength for edge in edges]))
    own = {
        "support": np.array([edge.support for edge in edges]),
        "strength": strength,
        "relative": strength - strength.max(),
        "same_sign": np.abs([edge.sign for edge in edges]),
        "contrast": np.median(np.abs(change[..., 0]), axis=1),
        "brighter_outside": np.median(change[..., 0], axis=1),
        "colour": np.median(np.hypot(change[..., 1], change[..., 2]), axis=1),
    }
    found: Measures = {}
    for name, values in own.items():
        found[f"{name}_outer"] = values[pairs.outer]
        found[f"{name}_inner"] = values[pairs.inner]
    found["least_support"] = np.minimum(found["support_outer"], found["support_inner"])
    found["least_strength"] = np.minimum(found["relative_outer"], found["relative_inner"])
    return found


def _of_likeness(bands: _Bands, beside: tuple[Array, Array], pairs: Pairs) -> Measures:
    """Whether it is one surface at both edges, and another beyond them."""
    at_outer, at_inner = beside[0][pairs.outer], beside[1][pairs.inner]
    beyond, within = beside[1][pairs.outer], beside[0][pairs.inner]
    return {
        "unlike": _apart(at_outer, at_inner, bands),
        "unlike_colour": _apart_colour(at_outer, at_inner, bands),
        "one_light": _together(at_outer[..., 0], at_inner[..., 0], bands),
        "light_beyond": _together(at_outer[..., 0], beyond[..., 0], bands),
        "light_within": _together(at_inner[..., 0], within[..., 0], bands),
        "bounds_alike": _apart(beyond, within, bands),
    }


def _apart(first: Array, second: Array, bands: _Bands) -> Array:
    return np.asarray(middles(np.abs(first[..., 0] - second[..., 0])) / bands.span, np.float64)


def _apart_colour(first: Array, second: Array, bands: _Bands) -> Array:
    off = np.hypot(first[..., 1] - second[..., 1], first[..., 2] - second[..., 2])
    return np.asarray(middles(off) / bands.span, np.float64)


def _together(first: Array, second: Array, bands: _Bands) -> Array:
    """How far two brightnesses go together round the circle, -1 to 1; small changes count little."""
    first = first - first.mean(axis=1, keepdims=True)
    second = second - second.mean(axis=1, keepdims=True)
    sizes = np.sqrt((first**2).sum(axis=1) * (second**2).sum(axis=1))
    return np.asarray(
        (first * second).sum(axis=1) / (sizes + _COLUMNS * (0.02 * bands.span) ** 2), np.float64
    )


def _of_annulus(bands: _Bands, beside: tuple[Array, Array], pairs: Pairs) -> Measures:
    """What the surface between is like: even, its thirds alike, its level beside that of its bounds."""
    start = bands.rows[pairs.inner] + _EDGE_PX
    stop = bands.rows[pairs.outer] - _EDGE_PX + 1
    third = (stop - start) / 3
    parts = [bands.mean_light(start + one * third, start + (one + 1) * third) for one in range(3)]
    whole = bands.mean(start, stop)
    spread = np.sqrt(np.maximum(whole[..., 3] - whole[..., 0] ** 2, 0.0)) / bands.span
    level = [middles(part) / bands.span for part in parts]
    middle = middles(whole[..., 0])
    bore = bands.mean(np.zeros_like(start), 0.6 * bands.rows[pairs.inner])
    inside = (bands.rows[pairs.outer] < bands.sums.shape[0] - 2).mean(axis=1)
    return {
        "spread": middles(spread),
        "spread_most": np.percentile(spread, 80, axis=1),
        "round_about": whole[..., 0].std(axis=1) / bands.span,
        "slope": np.abs(level[2] - level[0]),
        "bend": level[1] - (level[0] + level[2]) / 2,
        "bend_size": np.abs(level[1] - (level[0] + level[2]) / 2),
        "over_bore": (middle - middles(bore[..., 0])) / bands.span,
        "bore_spread": np.sqrt(np.maximum(bore[..., 3] - bore[..., 0] ** 2, 0.0)).mean(axis=1) / bands.span,
        "over_beyond": (middle - middles(beside[1][..., 0])[pairs.outer]) / bands.span,
        "over_within": (middle - middles(beside[0][..., 0])[pairs.inner]) / bands.span,
        "in_disc": inside,
    }


def _of_geometry(disc: Disc, edges: list[Edge], pairs: Pairs) -> Measures:
    sizes = np.array([edge.curve.size for edge in edges])
    waves = np.array([edge.curve.waves for edge in edges])
    outer, inner = sizes[pairs.outer], sizes[pairs.inner]
    shift = waves[pairs.outer, :2] * outer[:, None] - waves[pairs.inner, :2] * inner[:, None]
    tilt = waves[pairs.outer, 2:] - waves[pairs.inner, 2:]
    width = 1 - inner / outer
    return {
        "width": width,
        "width_log": np.log(width),
        "width_log_squared": (np.log(width / 0.2)) ** 2,
        "shift": np.hypot(shift[:, 0], shift[:, 1]) / outer,
        "tilt_differs": np.hypot(tilt[:, 0], tilt[:, 1]),
        "size": np.log(outer / sizes.max()),
        "size_in_disc": outer / disc.radii[-1],
    }


def _of_others(edges: list[Edge], pairs: Pairs) -> Measures:
    """What other edges lie between, beyond and within."""
    sizes = np.array([edge.curve.size for edge in edges])
    strength = np.array([edge.strength for edge in edges])
    weight = np.array([edge.support for edge in edges]) * np.sqrt(strength / strength.max())
    outer, inner = sizes[pairs.outer][:, None], sizes[pairs.inner][:, None]
    between = np.where((sizes > inner * 1.015) & (sizes < outer * 0.985), weight, 0.0)
    beyond = np.where(sizes > outer * 1.015, weight, 0.0)
    within = np.where(sizes < inner * 0.985, weight, 0.0)
    own = np.minimum(weight[pairs.outer], weight[pairs.inner])
    return {
        "between_most": between.max(axis=1),
        "between_sum": between.sum(axis=1),
        "between_more": np.maximum(between.max(axis=1) - own, 0.0),
        "beyond_sum": beyond.sum(axis=1),
        "within_sum": within.sum(axis=1),
        "beyond_most": beyond.max(axis=1),
        "within_most": within.max(axis=1),
        "weight_outer": weight[pairs.outer],
        "weight_inner": weight[pairs.inner],
    }


def _of_jumps(edges: list[Edge], beside: tuple[Array, Array], pairs: Pairs) -> Measures:
    """How the jump of brightness over an edge changes round about.

    Over the edge of a track it is the same all round: both sides lie in one plane. Over the edge to a
    chamfer, a wall or a shadow it swings with the direction of the light.
    """
    jump = np.log((beside[1][..., 0] + _DARK) / (beside[0][..., 0] + _DARK))
    mean, swing, rest = _swing(jump)
    support = np.array([edge.support for edge in edges])
    sizes = np.array([edge.curve.size for edge in edges])
    between = (sizes > sizes[pairs.inner][:, None] * 1.012) & (sizes < sizes[pairs.outer][:, None] * 0.988)
    at_outer, at_inner = beside[0][pairs.outer], beside[1][pairs.inner]
    across = _swing(np.log((at_outer[..., 0] + _DARK) / (at_inner[..., 0] + _DARK)))
    return {
        "jump_outer": np.abs(mean)[pairs.outer],
        "jump_inner": np.abs(mean)[pairs.inner],
        "swing_outer": np.sqrt(swing)[pairs.outer],
        "swing_inner": np.sqrt(swing)[pairs.inner],
        "rest_outer": np.sqrt(rest)[pairs.outer],
        "rest_inner": np.sqrt(rest)[pairs.inner],
        "swing_between": np.where(between, np.sqrt(swing) * support, 0.0).max(axis=1),
        "jump_between": np.where(between, np.abs(mean) * support, 0.0).max(axis=1),
        "swing_across": np.sqrt(across[1]),
        "jump_across": np.abs(across[0]),
        "rest_across": np.sqrt(across[2]),
    }


def _swing(values: Array) -> tuple[Array, Array, Array]:
    """Mean, size of the first wave, and spread of what is left, of values round the circle, (n,) each."""
    angles = np.arange(values.shape[1]) * (2 * np.pi / values.shape[1])
    mean = middles(values)
    cos = 2 * (values * np.cos(angles)).mean(axis=1)
    sin = 2 * (values * np.sin(angles)).mean(axis=1)
    left = values - mean[:, None] - cos[:, None] * np.cos(angles) - sin[:, None] * np.sin(angles)
    return mean, np.hypot(cos, sin), middles(np.abs(left))


def _of_margins(edges: list[Edge], bands: _Bands, pairs: Pairs) -> Measures:
    """What lies close beside either edge."""
    own = edge_margins(edges, bands.rows, bands.mean_light)
    found: Measures = {}
    for name, values in own.items():
        found[f"{name}_outer"] = values[pairs.outer]
        found[f"{name}_inner"] = values[pairs.inner]
    return found


def _of_heights(edges: list[Edge], pairs: Pairs) -> Measures:
    """Whether all else lies deeper: under tilt and perspective, deeper edges shift to one side."""
    sizes = np.array([edge.curve.size for edge in edges])
    support = np.array([edge.support for edge in edges])
    shifts = np.array([edge.curve.waves[:2] for edge in edges]) * sizes[:, None]
    face = (shifts[pairs.outer] + shifts[pairs.inner]) / 2
    off = (shifts[None] - face[:, None]) / sizes[pairs.outer][:, None, None]
    outside = sizes > sizes[pairs.outer][:, None] * 1.012
    inside = sizes < sizes[pairs.inner][:, None] * 0.988
    weight = support**2 * (outside | inside)
    mean = (off * weight[..., None]).sum(axis=1)
    way = mean / (np.hypot(mean[:, 0], mean[:, 1]) + 1e-6)[:, None]
    along = (off * way[:, None]).sum(axis=2)
    same = (off * way[:, None]).sum(axis=2)
    between = (~(outside | inside)) * support**2
    return {
        "opposed": np.sqrt((np.maximum(-along, 0.0) * weight).sum(axis=1)),
        "agreed": np.sqrt((np.maximum(same, 0.0) * weight).sum(axis=1)),
        "off_between": np.sqrt((np.hypot(off[..., 0], off[..., 1]) * between).sum(axis=1)),
    }
