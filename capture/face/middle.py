"""The median of few values, which numpy's own takes longer to prepare than to find."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray


def middle(values: NDArray[Any]) -> float:
    """Return the median of values, the same number as numpy's.

    Args:
        values: shape = (n,), at least one, none of them NaN; float32 is halved as such.
    """
    order = values.flatten()
    half = order.size // 2
    if order.size % 2:
        order.partition(half)
        return float(order[half])
    order.partition((half - 1, half))
    return float((order[half - 1] + order[half]) / 2)


def middles(values: NDArray[Any]) -> NDArray[Any]:
    """Return the medians along the last axis, the same numbers as numpy's.

    Args:
        values: shape = (..., n), floats, none of them NaN.
    """
    half = values.shape[-1] // 2
    if values.shape[-1] % 2:
        return np.asarray(np.partition(values, half, axis=-1)[..., half])
    order = np.partition(values, (half - 1, half), axis=-1)
    return np.asarray((order[..., half - 1] + order[..., half]) / 2)
