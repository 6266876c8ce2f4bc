"""How much better a sector's profile is explained with a band in it than without.

A band lies between two edges across the face, given in rows of the profiles (0 at the inner end of what is
judged). What is smooth across the face (light that is left over, a slight dome) is first taken out of profile
and band alike, so that only the band's edges count. The gain is in standard deviations of the noise, which
is that of the differences between sectors: rows that differ all round the ring alike are no noise here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from capture.face.track_profiles import SECTORS, Array, Profiles

#: Powers of the height that are smooth, by channel: level and slope of the brightness; of the texture more,
#: since the unrolling smooths it the more the nearer to the centre it is.
_POWERS = (2, 4)
#: Sectors that the noise's differences are taken over: far enough for blotches, near for a track that moves.
_LAG = 2
#: Width of the bands that the noise is first taken from, in shares of the rows: so narrow that most places
#: are clear of the edges of a track that is off centre, which would pass for noise.
_NOISE_WIDTH = 0.1
#: Squared length of a band of which nothing is left without what is smooth.
_LEAST_SIZE = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Bands:
    """What the sectors' profiles have of any band."""

    rest: Array
    """The profiles without what is smooth, shape = (channels, rows, SECTORS)."""
    total: Array
    """Their sums up to each edge, shape = (channels, rows + 1, SECTORS): a band has the difference of two."""
    smooth: Array
    """Sums of the smooth curves up to each edge, shape = (channels, rows + 1, powers)."""
    noise: Array
    """Standard deviation of a contrast where no band is, shape = (channels,)."""
    seen: Array
    """1 where a sector can be judged, shape = (SECTORS,)."""

    @property
    def rows(self) -> int:
        """Rows across; edges lie before, between and after them."""
        return int(self.rest.shape[1])

    def contrast(self, inner: Array, outer: Array) -> Array:
        """Return the contrast in standard deviations of a band whose edges lie at these rows in each sector.

        Args:
            inner: edges in rows, shape = (candidates, SECTORS); fractions are interpolated.
            outer: the same.

        Returns:
            shape = (channels, candidates, SECTORS); 0 in sectors not seen.
        """
        amount, size = self._parts(inner, outer)
        return np.asarray(amount / (np.sqrt(size) * self.noise[:, None, None]) * self.seen, np.float64)

    def heights(self, inner: Array, outer: Array) -> Array:
        """Return how much brighter (or rougher) such a band is, in logarithms; shapes as of contrast."""
        amount, size = self._parts(inner, outer)
        return np.asarray(amount / size * self.seen, np.float64)

    def _parts(self, inner: Array, outer: Array) -> tuple[Array, Array]:
        """Return the sums over the band and the squared length of the band without what is smooth."""
        i, f = self._parted(inner)
        j, g = self._parted(outer)
        amount = self._sums(j, g) - self._sums(i, f)
        # A row that is covered in part weighs its share squared.
        size = np.stack([(j + g) - (i + f) - f * (1 - f) - g * (1 - g)] * len(self.smooth))
        for left, smooth, powers in zip(size, self.smooth, _POWERS, strict=True):
            for curve in smooth.T[:powers]:
                step = np.diff(curve)
                part = curve.take(j) + g * step.take(j)
                part -= curve.take(i)
                part -= f * step.take(i)
                part *= part
                left -= part
        return amount, np.maximum(size, _LEAST_SIZE)

    def _parted(self, edges: Array) -> tuple[NDArray[np.intp], Array]:
        inside = np.clip(edges, 0, self.rows)
        whole = np.minimum(inside.astype(np.intp), self.rows - 1)
        return whole, inside - whole

    def _sums(self, whole: NDArray[np.intp], part: Array) -> Array:
        at = whole * SECTORS + np.arange(SECTORS)
        flat = self.total.reshape(len(self.total), -1)
        low = np.take(flat, at, axis=1)
        return np.asarray(low + part * (np.take(flat, at + SECTORS, axis=1) - low), np.float64)

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


def bands(found: Profiles) -> Bands:
    """Make ready to measure bands in a face's profiles."""
    smooth = [_smooth(found.rows, powers) for powers in _POWERS]
    rest = np.stack(
        [values - curves @ (curves.T @ values) for values, curves in zip(found.values, smooth, strict=True)]
    )
    most = max(_POWERS)
    sums = np.stack(
        [np.pad(_up_to_edges(curves), ((0, 0), (0, most - curves.shape[1]))) for curves in smooth]
    )
    noise = _noise(rest, found.seen, sums, max(1, round(_NOISE_WIDTH * found.rows)))
    return Bands(rest, np.stack([_up_to_edges(channel) for channel in rest]), sums, noise, found.seen)


def _smooth(rows: int, powers: int) -> Array:
    height = np.linspace(-1, 1, rows)
    return np.asarray(
        np.linalg.qr(np.column_stack([height**power for power in range(powers)]))[0], np.float64
    )


def _up_to_edges(values: Array) -> Array:
    """Return the sums of the rows before each edge, one row more than there are."""
    return np.concatenate([np.zeros_like(values[:1]), np.cumsum(values, axis=0)])


def _noise(rest: Array, seen: Array, smooth: Array, width: int) -> Array:
    """Return the spread of bands of so many rows over all places and sectors, shape = (channels,)."""
    both = (seen * np.roll(seen, -_LAG)) > 0
    apart = ((np.roll(rest, -_LAG, axis=2) - rest) / np.sqrt(2))[:, :, both]
    if not apart.size:
        return np.ones(len(rest))
    result = []
    for channel, curves in zip(apart, smooth, strict=True):
        size = np.maximum(width - ((curves[width:] - curves[:-width]) ** 2).sum(axis=1), _LEAST_SIZE)
        total = _up_to_edges(channel)
        amount = (total[width:] - total[:-width]) / np.sqrt(size)[:, None]
        result.append(1.4826 * float(np.median(np.abs(amount))))
    return np.maximum(np.asarray(result, np.float64), 1e-4)
