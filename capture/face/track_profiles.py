"""Radial profiles of an unrolled face, sector by sector: what a wear track shows in.

A track shows in its brightness (polished on matt or matt on polished, darker or brighter) or in its fine
texture alone (smoother or rougher), each a channel of its own, in logarithms: light that is left over is a
sum, and goes with the sector's own smooth curve.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.lighting import LitStrip

Array = NDArray[np.float64]

#: Sectors of the ring, and rows across the face at most.
SECTORS = 72
MOST_ROWS = 64
#: The middle of each sector, radians.
ANGLES = np.asarray((np.arange(SECTORS) + 0.5) * (2 * np.pi / SECTORS), np.float64)
#: Share of the face's width at each edge that is left out: chamfers, and planes that are half a per cent off.
TRIM = 0.025
#: A sector is judged where at least this share of it is seen.
_SEEN_SHARE = 0.4
#: A row of it that is seen less is taken as it looks.
_CELL_SHARE = 0.3
#: Rows at each end that a plane a few per cent of the face's width off can spoil; how far they may leave the
#: range of the others, in times of it.
_END_SHARE, _END_MORE = 0.08, 0.25
#: How far any row may leave the range of 90 per cent of them all, in times of it.
_MORE = 0.5
#: Window of the fine texture, pixels: what is coarser is brightness.
_FINE_PX = 5


@dataclass(frozen=True, slots=True, eq=False)
class Profiles:
    """Channels by rows by sectors; row 0 is nearest to the centre, sector 0 begins at three o'clock."""

    values: Array
    """Shape = (channels, rows, SECTORS); 0 where a sector is not seen."""
    seen: Array
    """Shape = (SECTORS,); 1 where the sector can be judged, else 0."""

    @property
    def rows(self) -> int:
        """Rows across the face."""
        return int(self.values.shape[1])


def profiles(lit: LitStrip) -> Profiles:
    """Return the radial profiles of the face's brightness and of its fine texture."""
    face = lit.strip.face_rows
    trim = round(TRIM * (face.stop - face.start))
    inside = slice(face.start + trim, face.stop - trim)
    flat = lit.flat[inside]
    fine = np.abs(flat - cv2.blur(flat, (_FINE_PX, _FINE_PX), borderType=cv2.BORDER_REFLECT))
    seen = _cut(~lit.hidden[inside])
    share = seen.mean(axis=2)
    judged = share.mean(axis=0) >= _SEEN_SHARE
    # Where only some rows are clipped, as a bright track is, they are at least as bright as they look.
    used = seen | (share < _CELL_SHARE)[:, :, None]
    texture = (_cut(fine) * used).sum(axis=2) / used.sum(axis=2)
    texture = np.log(texture + 0.1 * np.median(texture) + 1e-6)
    channels = (_medians(_cut(flat), used), texture)
    rows = min(MOST_ROWS, len(flat))
    scaled = [cv2.resize(channel, (SECTORS, rows), interpolation=cv2.INTER_AREA) for channel in channels]
    return Profiles(_tamed(np.stack(scaled)) * judged, judged.astype(np.float64))


def _tamed(values: Array) -> Array:
    """Return the same, held to the range that it has nearly everywhere: a chip must not outdo a faint track.

    The rows near both ends are held to what the sector has between them: where the plane is a little off,
    part of the chamfer lies in those rows.
    """
    level = np.median(values, axis=1, keepdims=True)
    low, high = np.quantile(values - level, (0.05, 0.95), axis=(1, 2))[:, :, None, None]
    more = _MORE * (high - low)
    values = level + np.clip(values - level, low - more, high + more)
    zone = max(1, round(_END_SHARE * values.shape[1]))
    low, high = np.quantile(values[:, zone:-zone], (0.05, 0.95), axis=1)
    more = _END_MORE * (high - low)
    ends = np.r_[0:zone, values.shape[1] - zone : values.shape[1]]
    values[:, ends] = np.clip(values[:, ends], (low - more)[:, None], (high + more)[:, None])
    return values


def _cut(values: NDArray[Any]) -> NDArray[Any]:
    """Return the columns sorted into sectors, shape = (rows, SECTORS, columns of a sector)."""
    each = -(-values.shape[1] // SECTORS)
    columns = ((np.arange(SECTORS * each) + 0.5) * (values.shape[1] / (SECTORS * each))).astype(np.intp)
    return values[:, columns].reshape(len(values), SECTORS, each)


def _medians(values: NDArray[np.float32], seen: NDArray[np.bool_]) -> Array:
    order = np.sort(np.where(seen, values, np.inf), axis=2)
    middle = np.maximum(seen.sum(axis=2) - 1, 0) // 2
    return np.asarray(np.take_along_axis(order, middle[:, :, None], axis=2)[:, :, 0], np.float64)
