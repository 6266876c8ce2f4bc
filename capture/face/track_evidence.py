"""Whether the best band of a face is a wear track: measured against what else is on the face.

The noise is taken anew, as wide as the band and without it, between sectors that are far from one another:
blotches and left-over light count as noise, as they should. What is the same all round the ring is
coherent; a track mostly is, light seldom.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.face.track_bands import Bands
from capture.face.track_fit import Band, energies, neighbours, terms
from capture.face.track_profiles import ANGLES, Array

#: Contrast, in standard deviations of the noise, from which a sector shows a band.
_SHOWS = 2.0
#: Weight of the energy where the contrast changes its sign all the time, against one where it never does.
_INCOHERENT = 0.4
#: Sectors between which the noise is taken: 20 degrees.
_LAG = 4
#: Differences count at most so many times the median one, squared: a chip is no noise.
_MOST_SQUARED = 9.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """How much speaks for a band."""

    energy: float
    """Chi squared that it explains, over the noise of bands of its width."""
    support: float
    """Share of the judged sectors in which it shows."""
    coherence: float
    """1: the contrast has one sign all round; 0: as often the other one."""
    share: float
    """Share of what is coherent over neighbouring sectors that the band explains; lapping marks that go round
    the ring leave most of it unexplained."""

    @property
    def weight(self) -> float:
        """Energy, less where the contrast keeps changing its sign."""
        return self.energy * (_INCOHERENT + (1 - _INCOHERENT) * self.coherence)


def evidence(table: Bands, band: Band) -> list[Evidence]:
    """Weigh a band in each channel by itself."""
    basis = terms(ANGLES)
    inner, outer = basis @ band.inner, basis @ band.outer
    of_band = _of_band(table, inner, outer)
    noise = _noise(table, table.rest - of_band, float(np.mean(outer - inner)))
    alone = table.contrast(inner[None], outer[None]) * (table.noise / noise)[:, None, None]
    shares = _share(table, of_band)
    return [_weighed(alone[n : n + 1], table.seen, shares[n]) for n in range(len(alone))]


def _weighed(alone: Array, seen: Array, share: float) -> Evidence:
    energy, together = energies(alone, seen)
    known = together[0, 0][seen > 0]
    strength = np.abs(known)
    return Evidence(
        energy=float(energy[0]),
        support=float((strength > _SHOWS).mean()),
        coherence=float(abs(known.sum()) / max(float(strength.sum()), 1e-9)),
        share=share,
    )


def _share(table: Bands, of_band: Array) -> list[float]:
    """Return the share of the profiles, averaged over neighbours, that is the band, by channel."""
    known = table.seen > 0
    averaged = neighbours(table.rest * table.seen) / np.maximum(neighbours(table.seen), 1)
    left = ((averaged - of_band)[:, :, known] ** 2).sum(axis=(1, 2))
    return [float(x) for x in 1 - left / np.maximum((averaged[:, :, known] ** 2).sum(axis=(1, 2)), 1e-12)]


def _noise(table: Bands, left: Array, band_width: float) -> Array:
    """Return the spread of bands of this width in what is left without it, shape = (channels,)."""
    width = int(np.clip(round(band_width), 1, table.rows - 1))
    both = (table.seen * np.roll(table.seen, -_LAG)) > 0
    apart = ((np.roll(left, -_LAG, axis=2) - left) / np.sqrt(2))[:, :, both]
    if not apart.size:
        return table.noise
    total = np.concatenate([np.zeros_like(apart[:, :1]), np.cumsum(apart, axis=1)], axis=1)
    curves = table.smooth[:, width:] - table.smooth[:, :-width]
    size = np.maximum(width - (curves**2).sum(axis=-1), 0.5)
    squared = (total[:, width:] - total[:, :-width]) ** 2 / size[:, :, None]
    usual = np.median(squared, axis=(1, 2), keepdims=True)
    spread = np.sqrt(np.minimum(squared, _MOST_SQUARED * usual).mean(axis=(1, 2)))
    return np.asarray(np.maximum(spread, table.noise), np.float64)


def _of_band(table: Bands, inner: Array, outer: Array) -> Array:
    """Return what of the profiles is the band, its strength averaged over neighbours; shape as table.rest."""
    rows = np.arange(table.rows)[:, None]
    shape = np.clip(np.minimum(rows + 1, outer) - np.maximum(rows, inner), 0, 1)
    curves = np.diff(table.smooth, axis=1)
    shape = shape - curves @ (curves.transpose(0, 2, 1) @ shape)
    height = table.heights(inner[None], outer[None])[:, 0]
    height = neighbours(height) / np.maximum(neighbours(table.seen), 1)
    return np.asarray(height[:, None, :] * shape, np.float64)
