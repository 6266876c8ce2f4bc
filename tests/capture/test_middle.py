"""The median of few values: the same number as numpy's own."""

from __future__ import annotations

import numpy as np
import pytest

from capture.face.middle import middle, middles


@pytest.mark.parametrize("count", [1, 2, 3, 8, 72, 301])
@pytest.mark.parametrize("kind", [np.float32, np.float64])
def test_medians_are_those_of_numpy(count: int, kind: type) -> None:
    values = np.random.default_rng(count).normal(size=(5, 3, count)).astype(kind)
    kept = values.copy()
    assert middle(values[0, 0]) == np.median(values[0, 0])
    assert np.array_equal(middles(values), np.median(values, axis=-1))
    assert np.array_equal(values, kept)
