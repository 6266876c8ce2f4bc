"""What lies just beside the two edges of a pair, on the face and beyond it: bevels, steps, other edges.

A bevel is a narrow band whose light swings with its direction to the lamp, and it ends at two edges close
together. Of a right pair the margins within the face look like the face farther in, and bevels lie outside.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

from capture.face.middle import middles
from capture.face.ring_curves import Edge

Array = NDArray[np.float64]
Means = Callable[[Array, Array], Array]
"""Mean light of rows first to last of each edge and column, shape = (edges, columns)."""

#: Bands on either side of an edge, shares of the outer radius: first, last. Bevels are 0.5 to 4 % wide.
_NEAR, _FAR = (0.006, 0.014), (0.03, 0.05)
#: Another edge counts as close by from this distance to this, shares of the radius.
_CLOSE = (0.004, 0.05)
_DARK = 10.0


def edge_margins(edges: list[Edge], rows: Array, mean: Means) -> dict[str, Array]:
    """Measure the bands beside every edge; shape = (edges,) each.

    Args:
        edges: of a disc.
        rows: of the edges, shape = (edges, columns).
        mean: gives the light of bands.
    """
    size = rows.mean(axis=1, keepdims=True)
    found: dict[str, Array] = {}
    for name, way in (("within", -1.0), ("without", 1.0)):
        near = _band(rows, size, way, _NEAR, mean)
        far = _band(rows, size, way, _FAR, mean)
        level, swing, rest = _waves(np.log((near + _DARK) / (far + _DARK)))
        found[f"margin_{name}"] = np.log(np.abs(level) + 0.02)
        found[f"margin_swing_{name}"] = np.log(swing + 0.02)
        found[f"margin_rest_{name}"] = np.log(rest + 0.02)
    return found | _neighbours(edges)


def _band(rows: Array, size: Array, way: float, at: tuple[float, float], mean: Means) -> Array:
    first, last = (
        rows + way * np.maximum(share * size, least) for share, least in zip(at, (2, 4), strict=True)
    )
    return mean(np.minimum(first, last), np.maximum(first, last) + 1)


def _waves(values: Array) -> tuple[Array, Array, Array]:
    """Mean, size of the first wave and spread of what is left, of values round the circle."""
    angles = np.arange(values.shape[1]) * (2 * np.pi / values.shape[1])
    level = middles(values)
    cos = 2 * (values * np.cos(angles)).mean(axis=1)
    sin = 2 * (values * np.sin(angles)).mean(axis=1)
    left = values - level[:, None] - cos[:, None] * np.cos(angles) - sin[:, None] * np.sin(angles)
    return level, np.hypot(cos, sin), middles(np.abs(left))


def _neighbours(edges: list[Edge]) -> dict[str, Array]:
    """The best seen edge close within and close outside of each: how well seen, how strong, how far."""
    size = np.array([edge.curve.size for edge in edges])
    support = np.array([edge.support for edge in edges])
    strength = np.log(np.array([edge.strength for edge in edges]))
    shift = np.array([edge.curve.waves[:2] for edge in edges]) * size[:, None]
    gap = size[None, :] / size[:, None] - 1
    apart = np.hypot(*np.moveaxis(shift[None] - shift[:, None], 2, 0)) / size[:, None]
    found: dict[str, Array] = {}
    for name, way in (("within", -1.0), ("without", 1.0)):
        close = (gap * way > _CLOSE[0]) & (gap * way < _CLOSE[1])
        worth = np.where(close, support[None, :], 0.0)
        best = worth.argmax(axis=1)
        every = np.arange(len(edges))
        some = worth.max(axis=1) > 0
        found[f"close_{name}"] = worth.max(axis=1)
        found[f"close_many_{name}"] = worth.sum(axis=1)
        found[f"close_gap_{name}"] = np.where(some, np.abs(gap[every, best]), _CLOSE[1])
        found[f"close_stronger_{name}"] = np.where(some, strength[best] - strength, -1.0)
        found[f"close_apart_{name}"] = np.where(some, apart[every, best], 0.0)
    return found
