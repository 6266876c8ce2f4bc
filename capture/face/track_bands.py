"""How much better a sector's profile is explained with a band in it than without.

A band lies between two heights across the face (0 at the inner edge of what is judged, 1 at the outer). What
is smooth across the face (light that is left over, a slight dome) is first taken out of profile and band
alike, so that only the band's edges count. The gain is in standard deviations of the noise, which is that
of the differences between sectors: rows that differ all round the ring alike are no noise here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.face.track_profiles import Array, Profiles

#: Powers of the height that are smooth: level, slope, bend.
_SMOOTH_POWERS = 3
#: Sectors that the noise's differences are taken over: far enough for blotches, near for a track that moves.
_LAG = 2
#: Width of the bands that the noise is first taken from, in shares of the rows: so narrow that most places
#: are clear of the edges of a track that is off centre, which would pass for noise.
_NOISE_WIDTH = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """For every band: what each sector's profile has of it."""

    amount: Array
    """Projection on the band, shape = (channels, edges, edges, SECTORS); [.., i, j, ..] from edge i to j."""
    size: Array
    """Squared length of the band without what is smooth, shape = (edges, edges)."""
    noise: Array
    """Standard deviation of amount / sqrt(size) without a band, shape = (channels,)."""
    rest: Array
    """The profiles without what is smooth, shape = (channels, rows, SECTORS)."""
    seen: Array
    """Shape = (SECTORS,)."""

    @property
    def rows(self) -> int:
        """Rows across; edges lie before, between and after them."""
        return int(self.size.shape[0]) - 1

    def contrast(self, inner: Array, outer: Array) -> Array:
        """Return the contrast in standard deviations of a band whose edges lie at these rows in each sector.

        Args:
            inner: edges in rows, shape = (candidates, SECTORS); fractions are interpolated.
            outer: the same.

        Returns:
            shape = (channels, candidates, SECTORS); 0 in sectors not seen.
        """
        i, f, j, g = *_parted(inner, self.rows), *_parted(outer, self.rows)
        sector = np.arange(self.amount.shape[-1])
        amount, size = np.zeros((len(self.amount), *inner.shape)), np.zeros(inner.shape)
        for di, wi in ((0, 1 - f), (1, f)):
            for dj, wj in ((0, 1 - g), (1, g)):
                amount += wi * wj * self.amount[:, i + di, j + dj, sector]
                size += wi * wj * self.size[i + di, j + dj]
        # A row that is covered in part weighs its share squared.
        size = np.maximum(size - f * (1 - f) - g * (1 - g), 0.5)
        return np.asarray(amount / np.sqrt(size) / self.noise[:, None, None] * self.seen, np.float64)

    def unexplained(self, inner: Array, outer: Array) -> Array:
        """Return how far each sector's brightness is from such a band in the strength that suits it best.

        Args:
            inner: edges in rows, shape = (SECTORS,).
            outer: the same.

        Returns:
            Root mean square over the rows, shape = (SECTORS,).
        """
        had = self.contrast(inner[None], outer[None])[0, 0] * self.noise[0]
        beyond = (self.rest[0] ** 2).sum(axis=0) - had**2
        return np.asarray(np.sqrt(np.maximum(beyond, 0) / self.rows), np.float64)

    def looking_at(self, sectors: NDArray[np.bool_]) -> Bands:
        """Return the same with these sectors alone, as far as they are seen."""
        return replace(self, seen=self.seen * sectors)


def _parted(edges: Array, rows: int) -> tuple[NDArray[np.intp], Array]:
    inside = np.clip(edges, 0, rows)
    whole = np.minimum(inside.astype(np.intp), rows - 1)
    return whole, inside - whole


def bands(found: Profiles) -> Bands:
    """Work out every band of a face's profiles."""
    rows = found.rows
    smooth = _smooth(rows)
    rest = found.values - smooth @ (smooth.T @ found.values)
    amount = _between(rest)
    shapes = np.eye(rows) - smooth @ smooth.T
    # The squared length of a band is what it has of its own shape without what is smooth.
    size = _size(shapes)
    return Bands(
        amount, size, spread_of(rest, found.seen, size, round(_NOISE_WIDTH * rows)), rest, found.seen
    )


def spread_of(rest: Array, seen: Array, size: Array, width: int) -> Array:
    """Return the noise of a band of so many rows, shape = (channels,), over all places and sectors."""
    both = (seen * np.roll(seen, -_LAG)) > 0
    apart = ((np.roll(rest, -_LAG, axis=2) - rest) / np.sqrt(2))[:, :, both]
    total = np.concatenate([np.zeros_like(apart[:, :1]), np.cumsum(apart, axis=1)], axis=1)
    first = np.arange(len(size) - width)
    amount = (total[:, width:] - total[:, :-width]) / np.sqrt(size[first, first + width])[:, None]
    if not amount.size:
        return np.ones(len(rest))
    spread = 1.4826 * np.median(np.abs(amount).reshape(len(rest), -1), axis=1)
    return np.asarray(np.maximum(spread, 1e-4), np.float64)


def _smooth(rows: int) -> Array:
    height = np.linspace(-1, 1, rows)
    powers = np.column_stack([height**power for power in range(_SMOOTH_POWERS)])
    return np.asarray(np.linalg.qr(powers)[0], np.float64)


def _between(rest: Array) -> Array:
    """Return the sums over the rows between every two edges, shape = (channels, edges, edges, sectors)."""
    total = np.concatenate([np.zeros_like(rest[:, :1]), np.cumsum(rest, axis=1)], axis=1)
    return np.asarray(total[:, None, :, :] - total[:, :, None, :], np.float64)


def _size(shapes: Array) -> Array:
    corner = np.zeros((len(shapes) + 1, len(shapes) + 1))
    corner[1:, 1:] = shapes.cumsum(axis=0).cumsum(axis=1)
    own = np.diag(corner)
    return np.asarray(np.maximum(own[:, None] + own[None, :] - 2 * corner, 0.5), np.float64)
