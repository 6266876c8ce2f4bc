"""The wear track: the ring that the mate wore into the face, and how evenly.

Lengths are in outer radii of the face, like all lengths on a face without a scale; `Track.report` gives
millimetres. Even means all round, about concentric, about equally wide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from capture.face.lighting import LitStrip
from capture.face.track_bands import bands
from capture.face.track_contact import gaps
from capture.face.track_fit import Band, best_band, terms
from capture.face.track_profiles import SECTORS, TRIM, Array, profiles
from shared.photo import WearTrack

Evenness = Literal["even", "uneven", "none", "undecided"]

#: Chi squared that a band must explain to be a track, and share of the sectors in which it must show.
_LEAST_ENERGY, _LEAST_SUPPORT = 250.0, 0.5
#: Contrast, in standard deviations of the noise, from which a sector shows it.
_SHOWS = 2.0
#: Less of the face than this tells nothing of how it wore all round.
_LEAST_JUDGED = 0.5
#: Uneven from this offset on: in millimetres where a scale is known, else in widths of the face; and from
#: this ratio of greatest to least width on (common practice, no source: a seal tolerates some tenths).
_UNEVEN_OFFSET_MM, _UNEVEN_OFFSET_WIDTHS, _UNEVEN_RATIO = 0.32, 0.06, 1.4


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """What was found of a wear track."""

    evenness: Evenness
    judged_share: float
    inner: Array | None = None
    """Radius of its inner edge as harmonics of the angle (track_fit.terms), outer radii; None without a track."""
    outer: Array | None = None
    touched: NDArray[np.bool_] | None = None
    """Whether the mate touched in each of the SECTORS from three o'clock, counter-clockwise."""
    energy: float = 0.0
    """Chi squared that the band explains beyond noise."""
    support: float = 0.0
    """Share of the judged sectors in which it shows."""

    @property
    def present(self) -> bool:
        """Whether there is one, or one could not be ruled out."""
        return self.evenness != "none"

    @property
    def contact_share(self) -> float:
        """Share of the ring that was touched."""
        return 0.0 if self.touched is None else float(self.touched.mean())

    def edges(self, degrees: Array) -> tuple[Array, Array] | None:
        """Return the radii of both edges at these angles, outer radii."""
        if self.inner is None or self.outer is None:
            return None
        basis = terms(np.radians(degrees))
        return basis @ self.inner, basis @ self.outer

    def report(self, mm_per_radius: float | None) -> WearTrack:
        """Return the contract's record; numbers only where a scale is known."""
        edges = self.edges(_MIDDLES)
        if edges is None or self.touched is None or self.inner is None or self.outer is None:
            return WearTrack(
                present=self.present, evenness=self.evenness, judged_share=round(self.judged_share, 4)
            )
        at = self.touched
        inner, outer = edges[0][at], edges[1][at]
        east, north = (self.inner[1:3] + self.outer[1:3]) / 2
        direction = round(float(np.degrees(np.arctan2(north, east)) % 360), 1) % 360
        if mm_per_radius is None:
            return WearTrack(
                present=True, evenness=self.evenness, offset_direction_deg=direction,
                judged_share=round(self.judged_share, 4),
            )  # fmt: skip
        mm = mm_per_radius
        return WearTrack(
            present=True,
            evenness=self.evenness,
            inner_radius_mm=round(float(inner.mean()) * mm, 3),
            outer_radius_mm=round(float(outer.mean()) * mm, 3),
            width_mean_mm=round(float((outer - inner).mean()) * mm, 3),
            width_min_mm=round(float((outer - inner).min()) * mm, 3),
            width_max_mm=round(float((outer - inner).max()) * mm, 3),
            offset_mm=round(float(np.hypot(east, north)) * mm, 3),
            offset_direction_deg=direction,
            judged_share=round(self.judged_share, 4),
        )


_MIDDLES = np.asarray((np.arange(SECTORS) + 0.5) * (360 / SECTORS), np.float64)


def find_track(lit: LitStrip, mm_per_radius: float | None) -> Track:
    """Find the wear track of a face whose light is taken out.

    Args:
        lit: the unrolled face.
        mm_per_radius: millimetres of an outer radius; None where no scale is known.
    """
    found = profiles(lit)
    if found.seen.sum() < 0.25 * SECTORS:
        return Track("undecided", lit.judged_share)
    table = bands(found)
    band = best_band(table)
    shows = (np.abs(band.contrast) > _SHOWS).any(axis=0) & (found.seen > 0)
    support = float(shows.sum() / found.seen.sum())
    if band.energy < _LEAST_ENERGY or support < _LEAST_SUPPORT:
        evenness: Evenness = "none" if lit.judged_share >= _LEAST_JUDGED else "undecided"
        return Track(evenness, lit.judged_share, energy=band.energy, support=support)
    basis = terms(np.radians(_MIDDLES))
    alone = table.contrast((basis @ band.inner)[None], (basis @ band.outer)[None])[:, 0]
    stronger = int(np.argmax(np.median(np.abs(band.contrast), axis=1)))
    touched = ~gaps(alone[stronger], found.seen)
    inner, outer = _radii(band.inner, lit, found.rows), _radii(band.outer, lit, found.rows)
    track = Track("undecided", lit.judged_share, inner, outer, touched, band.energy, support)
    return Track(
        _evenness(track, lit, mm_per_radius), lit.judged_share, inner, outer, touched, band.energy, support
    )


def _radii(edge: Array, lit: LitStrip, rows: int) -> Array:
    """Return an edge in outer radii that is given in rows of the profiles."""
    strip = lit.strip
    face = strip.face_rows
    trim = round(TRIM * (face.stop - face.start))
    pixel = float(strip.radii[1] - strip.radii[0])
    each = (face.stop - face.start - 2 * trim) / rows * pixel
    radii = edge * each
    # Edge 0 is the near side of the first row.
    radii[0] += strip.radii[face.start + trim] - pixel / 2
    return radii


def _evenness(track: Track, lit: LitStrip, mm_per_radius: float | None) -> Evenness:
    if track.judged_share < _LEAST_JUDGED:
        return "undecided"
    assert track.inner is not None and track.outer is not None and track.touched is not None
    inner, outer = track.edges(_MIDDLES[track.touched]) or (np.zeros(1), np.ones(1))
    ratio = float((outer - inner).max() / max(float((outer - inner).min()), 1e-6))
    offset = float(np.hypot(*(track.inner[1:3] + track.outer[1:3]) / 2))
    if mm_per_radius is None:
        moved = offset > _UNEVEN_OFFSET_WIDTHS * (1 - lit.strip.plane.bore)
    else:
        moved = offset * mm_per_radius > _UNEVEN_OFFSET_MM
    return "uneven" if moved or ratio > _UNEVEN_RATIO or not track.touched.all() else "even"
