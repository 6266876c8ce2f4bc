"""What a face looks like where nothing happened to it, and how much it strays from that by itself.

A face is nearly the same all along a circle: lay, wear track and its edges, the rim that an edge found a
pixel aside leaves, all run round. The ground of a pixel is therefore the running median of its own row of
the unrolled face; what strays from it more than the row does around there is a mark.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.lighting import LitStrip

Map = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Blocks round the ring, and blocks of a running median: 2 degrees, and what is narrower than 9 stands out.
_BLOCKS, _WINDOW = 180, 9
#: The same for the spread: 6 degrees, and over 54.
_SPREAD_BLOCKS, _SPREAD_WINDOW = 60, 9
#: A standard deviation in median absolute deviations of a normal distribution.
MAD = 1.4826
#: No row is taken for quieter than this share of the whole face's spread.
_QUIETEST = 0.6


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """The face only, without the strip's margins; all of shape = (face rows, columns)."""

    lit: LitStrip
    stray: Map
    """Log brightness less the ground."""
    spread: Map
    """Robust standard deviation of the stray around there."""
    hidden: Mask

    @property
    def signal(self) -> Map:
        """The stray in standard deviations; 0 where the face is hidden."""
        return np.where(self.hidden, np.float32(0), self.stray / self.spread)

    @property
    def radii(self) -> NDArray[np.float64]:
        """Radius of each row in outer radii, shape = (face rows,)."""
        return self.lit.strip.radii[self.lit.strip.face_rows]


def ground_of(lit: LitStrip) -> Ground:
    """Return the ground of a face."""
    face = lit.strip.face_rows
    flat, hidden = lit.flat[face], lit.hidden[face]
    if hidden.any():
        grown = cv2.dilate(np.hstack([hidden] * 1).astype(np.uint8), np.ones((5, 5), np.uint8))
        hidden = np.asarray(grown > 0, np.bool_)
        flat = np.where(hidden, np.median(flat[:, ::5], axis=1, keepdims=True), flat)
    stray = flat - along_rows(flat, _BLOCKS, _WINDOW)
    spread = MAD * along_rows(np.abs(stray), _SPREAD_BLOCKS, _SPREAD_WINDOW)
    least = _QUIETEST * float(np.median(spread))
    return Ground(lit, stray, np.maximum(spread, max(least, 1e-4)), hidden)


def along_rows(values: Map, blocks: int, window: int) -> Map:
    """Return the running median along the ring, shape = (rows, columns).

    Medians of blocks, then of windows of blocks, then straight lines between: within a few percent of the
    running median itself in a tenth of its time.
    """
    rows, columns = values.shape
    block = max(1, columns // blocks)
    count = columns // block
    # The columns that are left over at the end belong to no block: less than one block.
    cut = values[:, : count * block].reshape(rows, count, block)
    middles = np.median(cut[:, :, :: 2 if block >= 6 else 1], axis=2)
    half = window // 2
    wrapped = np.hstack([middles[:, -half:], middles, middles[:, :half]])
    smooth = np.median(np.lib.stride_tricks.sliding_window_view(wrapped, window, axis=1), axis=2)
    return _between(smooth.astype(np.float32), columns, block)


def _between(blocks: Map, columns: int, block: int) -> Map:
    wrapped = np.hstack([blocks[:, -1:], blocks, blocks[:, :1]])
    at = (np.arange(columns) + 0.5) / block - 0.5 + 1
    left = np.clip(np.floor(at).astype(np.intp), 0, wrapped.shape[1] - 2)
    share = (at - left).astype(np.float32)
    return np.asarray(wrapped[:, left] * (1 - share) + wrapped[:, left + 1] * share, np.float32)
