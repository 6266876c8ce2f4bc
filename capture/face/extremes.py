"""How large a response chance alone makes somewhere on a face: extreme values, read off the face itself.

The face is cut into cells. The largest response of a cell without a mark follows a Gumbel distribution
whatever the grain, lay and noise are, as long as their tails fall off exponentially or faster. The lower
half of the cells' maxima, where marks are not, tells its place and its scale; the threshold is what the
largest of all cells stays below with a chance near one.

Source: Coles, An Introduction to Statistical Modeling of Extreme Values (2001), chapter 3, from memory.
"""

from __future__ import annotations

import math

import numpy as np

from capture.face.ground import Map

#: Cells along and across.
_CELLS = (36, 2)
#: Chance that a clean face shows a false mark of one family, if the tails were exponential. Those of noise
#: fall off faster: on the clean development pictures the largest response is four fifths of this threshold.
_FALSE = 0.3
_LOW, _HIGH = 0.1, 0.45


def _gumbel(probability: float) -> float:
    return -math.log(-math.log(probability))


def threshold(response: Map, least: float, most: float) -> float:
    """Return what a response must exceed to be no chance.

    Args:
        response: shape = (rows, columns).
        least: where the lower cells are quieter than noise can be, as on a painted face.
        most: where marks are in most cells, nothing is learnt from these.
    """
    along, across = _CELLS
    rows, columns = response.shape
    cut = response[: rows // across * across, : columns // along * along]
    largest = cut.reshape(across, rows // across, along, columns // along).max(axis=(1, 3)).ravel()
    low, high = np.quantile(largest, [_LOW, _HIGH])
    scale = (high - low) / (_gumbel(_HIGH) - _gumbel(_LOW))
    place = high - scale * _gumbel(_HIGH)
    chance = (1 - _FALSE) ** (1 / len(largest))
    return float(np.clip(place + scale * _gumbel(chance), least, most))
