"""The band that runs round the face and explains it best: its edges as harmonics of the angle.

A coarse search over width, place and offset, then steps up the hill for all harmonics of both edges. What
counts is the contrast of the band, sector by sector, averaged over neighbours and squared: its sign may
change round the ring (polish is bright towards the lamp and dark away from it), but not between neighbours.
Sectors far above the others are cut down to them: a chip or a deposit must not bend the band.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.face.middle import middles
from capture.face.track_bands import Bands
from capture.face.track_profiles import ANGLES, Array

#: Harmonics of an edge: mean, offset, and the one that an oval makes.
ORDERS = 2
_TERMS = 2 * ORDERS + 1
#: Sectors that are averaged: 25 degrees.
_TOGETHER = 5
#: Narrowest band, and narrowest rest of the face beside it, in shares of the judged width.
_LEAST_WIDTH, _LEAST_REST = 0.15, 0.1
#: A band is nowhere narrower than this share.
_NARROWEST = 0.06
#: Rows of the coarse search, at least, and sectors that it takes together.
_COARSE_ROWS, _COARSE_SECTORS = 20, 4
#: So many bands are climbed from, whose edges are so far apart, in shares of the judged width.
_CLIMBS, _APART = 3, 0.15
#: Sectors that count at most so many times the median one.
_MOST_TIMES = 2.0
#: A sector is spoilt that holds so many robust standard deviations more beside the band than usual; at least
#: this share of the sectors is kept.
_SPOILT_SPREADS, _LEAST_SOUND = 4.0, 0.6
#: Steps up the hill, in shares of the judged width.
_STEPS = (0.04, 0.02, 0.01, 0.005, 0.0025)
#: A step must gain this much (chi squared), else the noise is climbed.
_LEAST_GAIN = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Band:
    """A band round the face; its edges are rows of the profiles, as harmonics of the angle."""

    inner: Array
    """Shape = (_TERMS,): mean, then cosine and sine of each order."""
    outer: Array
    energy: float
    """Chi squared of the contrast that it explains, over that of noise alone."""
    table: Bands
    """What it was fitted to: the sectors that are not spoilt."""


def terms(angles: Array, orders: int = ORDERS) -> Array:
    """Return the harmonics at these angles, shape = (angles, 2 * orders + 1)."""
    columns = [np.ones_like(angles)]
    for order in range(1, orders + 1):
        columns += [np.cos(order * angles), np.sin(order * angles)]
    return np.column_stack(columns)


def best_band(table: Bands) -> Band:
    """Return the band that explains a face best, whether or not it means anything."""
    starts = _coarse(table)
    inner, outer = starts[0]
    level = np.eye(_TERMS)[0]
    # A width that changes moves the edges apart where an offset moves them together.
    starts += [(inner, outer * level), (inner * level, outer), (inner, outer * (2 * level - 1))]
    started = [_climbed(table, *start, _STEPS[:1]) for start in starts]
    best = max(started, key=lambda band: band.energy)
    best = _climbed(table, best.inner, best.outer, _STEPS[:3])
    return _climbed(table.looking_at(_sound(table, best)), best.inner, best.outer, _STEPS[1:])


def _sound(table: Bands, band: Band) -> NDArray[np.bool_]:
    """Return the sectors that hold no more beside the band than most do: no chip, deposit or shadow."""
    basis = terms(ANGLES)
    beside = table.unexplained(basis @ band.inner, basis @ band.outer)
    known = beside[table.seen > 0]
    usual = float(np.median(known))
    spread = 1.4826 * float(np.median(np.abs(known - usual)))
    most = max(usual + _SPOILT_SPREADS * spread, float(np.quantile(known, _LEAST_SOUND)))
    return np.asarray(beside <= most, np.bool_)


def energies(contrast: Array, seen: Array) -> tuple[Array, Array]:
    """Return the energy of each candidate and the contrast of neighbours together.

    Args:
        contrast: shape = (channels, candidates, SECTORS).
        seen: shape = (SECTORS,).

    Returns:
        Energies, shape = (candidates,), and contrasts, shape as the argument's.
    """
    count = np.maximum(neighbours(seen), 1.0)
    together = neighbours(contrast) / np.sqrt(count) * (seen > 0)
    strength = np.abs(together)
    usual = middles(strength)[..., None]
    strength = np.minimum(strength, _MOST_TIMES * usual + 2.0)
    return (strength**2).sum(axis=(0, -1)) / _TOGETHER, together


def neighbours(values: Array) -> Array:
    """Return the sums over each sector and those beside it, along the last axis."""
    half, count = _TOGETHER // 2, values.shape[-1]
    closed = np.concatenate([values[..., count - half :], values, values[..., :half]], axis=-1)
    total = np.array(closed[..., 2 * half :], np.float64)
    for shift in range(2 * half - 1, -1, -1):
        total += closed[..., shift : shift + count]
    return total


def _coarse(table: Bands) -> list[tuple[Array, Array]]:
    """Return the edges of the best few bands that differ, as harmonics."""
    rows = table.rows
    step = max(1, rows // _COARSE_ROWS)
    inner, outer, east, north = _starts(rows, step)
    scaled = _coarse_contrast(table, step)
    # Sectors that belong together were added up, so a coarse one has a few of them.
    sectors = scaled.shape[0]
    angles = (np.arange(sectors) + 0.5) * (2 * np.pi / sectors)
    move = east[:, None] * np.cos(angles) + north[:, None] * np.sin(angles)
    last = rows // step
    low = np.clip(np.rint((inner[:, None] + move) / step), 0, last).astype(np.intp)
    high = np.clip(np.rint((outer[:, None] + move) / step), 0, last).astype(np.intp)
    at = (np.arange(sectors) * (last + 1) + low) * (last + 1) + high
    # Magnitudes, not squares: one sector that holds a chip must not win.
    score = scaled.ravel()[at].sum(axis=1)
    starts = []
    for _ in range(_CLIMBS):
        best = int(np.argmax(score))
        first, second = np.zeros(_TERMS), np.zeros(_TERMS)
        first[:3] = inner[best], east[best], north[best]
        second[:3] = outer[best], east[best], north[best]
        starts.append((first, second))
        near = (np.abs(inner - inner[best]) < _APART * rows) & (np.abs(outer - outer[best]) < _APART * rows)
        score[near] = -1.0
    return starts


def _coarse_contrast(table: Bands, step: int) -> NDArray[np.float32]:
    """Return the magnitude of contrast, channels added, shape = (sectors, edges, edges), all coarse."""
    smooth = table.smooth[:, ::step]
    places = np.arange(smooth.shape[1])
    curves = ((smooth[:, :, None] - smooth[:, None]) ** 2).sum(axis=-1)
    size = np.maximum(np.abs(places[:, None] - places) * step - curves, 1.0)
    total = (table.total * table.seen)[:, ::step]
    total = total.reshape(*total.shape[:2], -1, _COARSE_SECTORS).sum(axis=-1) / table.noise[:, None, None]
    total = total.transpose(0, 2, 1)
    strength = np.abs(total[:, :, None, :] - total[:, :, :, None]) / np.sqrt(size)[:, None]
    return np.ascontiguousarray(strength.sum(axis=0), np.float32)


def _starts(rows: int, step: int) -> tuple[Array, Array, Array, Array]:
    """Return inner edge, outer edge and offset of the bands to begin with, each of shape = (n,)."""
    places = np.arange(0, rows + 1, step, dtype=np.float64)
    low, high = (grid.ravel() for grid in np.meshgrid(places, places, indexing="ij"))
    fits = _allowed(low, high, rows)
    low, high = low[fits], high[fits]
    offsets = [(0.0, 0.0)]
    for ring in range(1, 6):
        turns = np.arange(6 * ring) * (2 * np.pi / (6 * ring))
        offsets += [
            (1.5 * step * ring * float(np.cos(t)), 1.5 * step * ring * float(np.sin(t))) for t in turns
        ]
    east, north = np.array(offsets).T
    pick, way = (
        grid.ravel() for grid in np.meshgrid(np.arange(len(low)), np.arange(len(east)), indexing="ij")
    )
    away = np.hypot(east, north)[way]
    stays = (low[pick] - away > -step) & (high[pick] + away < rows + step)
    pick, way = pick[stays], way[stays]
    return low[pick], high[pick], east[way], north[way]


def _allowed(inner: Array, outer: Array, rows: int) -> NDArray[np.bool_]:
    width = outer - inner
    return np.asarray((width >= _LEAST_WIDTH * rows) & (rows - width >= _LEAST_REST * rows), np.bool_)


def _climbed(table: Bands, inner: Array, outer: Array, steps: tuple[float, ...]) -> Band:
    rows = table.rows
    basis = terms(ANGLES)
    state = np.concatenate([inner, outer])
    one = np.eye(2 * _TERMS)
    ways = np.concatenate([one, one[:_TERMS] + one[_TERMS:], one[:_TERMS] - one[_TERMS:]])
    ways = np.concatenate([ways, -ways])
    energy = float(_of(table, basis, state[None])[0])
    for step in steps:
        for _ in range(20):
            tried = state + ways * (step * rows)
            there = _of(table, basis, tried)
            best = int(np.argmax(there))
            if there[best] < energy + _LEAST_GAIN:
                break
            state, energy = tried[best], float(there[best])
    return Band(state[:_TERMS], state[_TERMS:], energy, table)


def _of(table: Bands, basis: Array, states: Array) -> Array:
    """Return the energy of each candidate, shape = (candidates,)."""
    inner, outer = states[:, :_TERMS] @ basis.T, states[:, _TERMS:] @ basis.T
    energy, _ = energies(table.contrast(inner, outer), table.seen)
    fits = _allowed(states[:, 0], states[:, _TERMS], table.rows)
    fits &= (outer - inner).min(axis=1) >= _NARROWEST * table.rows
    return np.where(fits, energy, -np.inf)
