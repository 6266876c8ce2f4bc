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
from capture.face.middle import middles

Map = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Blocks round the ring, and blocks of a running median: 2 degrees, and what is narrower than 25 stands out.
_BLOCKS, _WINDOW = 180, 25
#: The same for the spread: 6 degrees, and over 54.
_SPREAD_BLOCKS, _SPREAD_WINDOW = 60, 9
#: How far aside the ground is looked at as well: rows, and degrees along.
_SLACK_ROWS, _SLACK_DEG = 1, 2.5
#: What varies by less than so many standard deviations from there to here is lay.
_SLACK_GRAIN = 1.5
#: Seam of what is hidden: at least so many pixels, and a share of the face's width.
_SEAM_PX, _SEAM_SHARE = 4, 0.05
#: Largest chip that may glint all over: depth and length in widths of the face; least depth for its length.
_CHIP_DEEP, _CHIP_LONG, _CHIP_STEEP = 0.5, 1.2, 0.1
#: Largest hole that may be black all over, in widths of the face; its height for its length.
_HOLE_LARGEST, _HOLE_ROUND = 0.9, 0.4
#: Least standard deviation of a pixel, grey levels.
_LEAST_GREY = 0.5
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

    @property
    def pixel(self) -> float:
        """From row to row, outer radii."""
        return float(self.radii[1] - self.radii[0])

    @property
    def bore(self) -> float:
        """Radius of the inner edge, outer radii."""
        return self.lit.strip.plane.bore


def ground_of(lit: LitStrip) -> Ground:
    """Return the ground of a face."""
    face = lit.strip.face_rows
    flat, hidden = lit.flat[face], lit.hidden[face]
    if hidden.any():
        hidden = _rounded(hidden)
        flat = np.where(hidden, np.median(flat[:, ::5], axis=1, keepdims=True), flat)
    usual = along_rows(flat, _BLOCKS, _WINDOW)
    stray = _beyond(flat, usual)
    spread = MAD * along_rows(np.abs(flat - usual), _SPREAD_BLOCKS, _SPREAD_WINDOW)
    least = _QUIETEST * float(np.median(spread))
    grey = float(np.median(lit.strip.picture[face][:, ::7]))
    # No pixel is known better than to half a grey level.
    return Ground(lit, stray, np.maximum(spread, max(least, _LEAST_GREY / max(grey, 1.0))), hidden)


def _rounded(hidden: Mask) -> Mask:
    """Return what is hidden, its nooks filled, and a seam: glare and shadow do not end sharply.

    What glints or is black in a small place at an edge is no light but a piece broken out.
    """
    hidden = hidden & ~_pieces_of_face(hidden)
    reach = max(_SEAM_PX, round(_SEAM_SHARE * len(hidden)))
    wide = np.hstack([hidden[:, -4 * reach :], hidden, hidden[:, : 4 * reach]]).astype(np.uint8)
    disc = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (4 * reach + 1, 2 * reach + 1))
    closed = cv2.morphologyEx(wide, cv2.MORPH_CLOSE, disc)
    seam = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (2 * reach + 1, 2 * reach + 1))
    return np.asarray(cv2.dilate(closed, seam)[:, 4 * reach : -4 * reach] > 0, np.bool_)


def _pieces_of_face(hidden: Mask) -> Mask:
    """Return what of the hidden is so small and compact that it is no light: a hole, a chip, its glint."""
    _, labels, stats, _ = cv2.connectedComponentsWithStats(hidden.astype(np.uint8), connectivity=8)
    rows, columns = hidden.shape
    top, height, width = stats[:, cv2.CC_STAT_TOP], stats[:, cv2.CC_STAT_HEIGHT], stats[:, cv2.CC_STAT_WIDTH]
    left = stats[:, cv2.CC_STAT_LEFT]
    at_edge = (top == 0) | (top + height == rows)
    chip = at_edge & (height < _CHIP_DEEP * rows) & (width < _CHIP_LONG * rows)
    chip &= height > _CHIP_STEEP * width
    hole = ~at_edge & (width < _HOLE_LARGEST * rows) & (height > _HOLE_ROUND * width)
    # What the cut at three o'clock halves keeps hidden.
    small = (chip | hole) & (left > 0) & (left + width < columns)
    small[0] = False
    return np.asarray(small[labels], np.bool_)


def _beyond(flat: Map, usual: Map) -> Map:
    """Return how far each pixel lies outside what is usual close by.

    The edges of a track and of the face wander by a row, and a track begins within a block: there the
    ground is any brightness between those beside.
    """
    size = (2 * round(_SLACK_DEG / 360 * usual.shape[1]) + 1, 2 * _SLACK_ROWS + 1)
    half = size[0] // 2
    wide = np.hstack([usual[:, -half:], usual, usual[:, :half]])
    close = cv2.getStructuringElement(cv2.MORPH_RECT, size)
    least = np.asarray(cv2.erode(wide, close)[:, half:-half], np.float32)
    most = np.asarray(cv2.dilate(wide, close)[:, half:-half], np.float32)
    grain = _SLACK_GRAIN * MAD * float(np.median(np.abs((flat - usual)[:, ::5])))
    low = np.minimum(usual, least + grain)
    high = np.maximum(usual, most - grain)
    return flat - np.clip(flat, low, high)


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
    blocked = middles(cut[:, :, :: 2 if block >= 6 else 1])
    half = window // 2
    wrapped = np.hstack([blocked[:, -half:], blocked, blocked[:, :half]])
    smooth = middles(np.lib.stride_tricks.sliding_window_view(wrapped, window, axis=1))
    return _between(smooth.astype(np.float32), columns, block)


def _between(blocks: Map, columns: int, block: int) -> Map:
    wrapped = np.hstack([blocks[:, -1:], blocks, blocks[:, :1]])
    at = (np.arange(columns) + 0.5) / block - 0.5 + 1
    left = np.clip(np.floor(at).astype(np.intp), 0, wrapped.shape[1] - 2)
    share = (at - left).astype(np.float32)
    return np.asarray(wrapped[:, left] * (1 - share) + wrapped[:, left + 1] * share, np.float32)
