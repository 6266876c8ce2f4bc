"""The wear track: the ring that the mate wore into the face, and how evenly.

Lengths are in outer radii of the face, like all lengths on a face without a scale; `Track.report` gives
millimetres. Even means all round, about concentric, about equally wide.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from capture.face.lighting import LitStrip
from capture.face.track_bands import bands
from capture.face.track_contact import gaps
from capture.face.track_course import Course
from capture.face.track_evidence import Evidence, evidence
from capture.face.track_fit import best_band, terms
from capture.face.track_profiles import ANGLES, TRIM, Array, profiles
from shared.photo import WearTrack

Evenness = Literal["even", "uneven", "none", "undecided"]

#: What a band must weigh to be a track, and the share of the sectors in which it must show. Measured on faces
#: of two renderers (development pictures): faint tracks weigh 785 and more, plain faces below 410
#: unless they have concentric lapping marks.
_LEAST_WEIGHT, _LEAST_SUPPORT = 500.0, 0.5
#: Share of what is coherent round the ring that a track explains: worn faces 0.64 and more, plain ones up to
#: 0.57 (concentric lapping marks). A strong track with grooves of its own explains less (0.57 at 17000).
_LEAST_SHARE = 0.6
_STRONG_WEIGHT, _STRONG_SHARE = 6000.0, 0.5
#: What weighs enough and explains less, but this much, is undecided: of 27 such sketches 24 were worn. Marks
#: that are strewn over the whole face leave any band less (drawn ones 0.11 to 0.16).
_MAYBE_SHARE = 0.25
#: Less of the face than this tells nothing of how it wore all round; less than the other, nothing at all.
_LEAST_JUDGED, _LEAST_SEEN = 0.5, 0.25
#: Uneven from this offset on, in millimetres where a scale is known, else in outer radii (0.3 mm of a face of
#: 48 mm, the middle of 25 to 90), and from this ratio of greatest to least width on (common practice, no
#: source: some tenths are usual run-out). How wide a face is tells little of how large it is. Noise makes the
#: ratio that is measured larger as a rule: of 149 tracks of six sets 3 more are right with 1.5 than with 1.4,
#: in no set fewer.
_UNEVEN_OFFSET_MM, _UNEVEN_OFFSET_RADII, _UNEVEN_RATIO = 0.32, 0.0125, 1.5


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """What was found of a wear track."""

    evenness: Evenness
    judged_share: float
    course: Course | None = None
    """Its edges; None without a track, or where too much is hidden to look for one."""
    proof: Evidence | None = None
    """What speaks for the best band, track or not; None where too much is hidden to look."""

    @property
    def present(self) -> bool:
        """Whether there is one, or one could not be ruled out."""
        return self.evenness != "none"

    def edges(self, degrees: Array) -> tuple[Array, Array] | None:
        """Return the radii of both edges at these angles, outer radii; None without a track."""
        return None if self.course is None else self.course.edges(degrees)

    def report(self, mm_per_radius: float | None) -> WearTrack:
        """Return the contract's record; lengths only where a scale is known."""
        share = round(self.judged_share, 4)
        course = self.course
        if course is None:
            return WearTrack(present=self.present, evenness=self.evenness, judged_share=share)
        direction = round(course.direction_deg, 1) % 360
        if mm_per_radius is None:
            return WearTrack(
                present=True, evenness=self.evenness, offset_direction_deg=direction, judged_share=share
            )
        (inner, outer), (least, most) = course.radii, course.widths
        return WearTrack(
            present=True,
            evenness=self.evenness,
            inner_radius_mm=round(inner * mm_per_radius, 3),
            outer_radius_mm=round(outer * mm_per_radius, 3),
            width_mean_mm=round((outer - inner) * mm_per_radius, 3),
            width_min_mm=round(least * mm_per_radius, 3),
            width_max_mm=round(most * mm_per_radius, 3),
            offset_mm=round(course.offset * mm_per_radius, 3),
            offset_direction_deg=direction,
            judged_share=share,
        )


def find_track(lit: LitStrip, mm_per_radius: float | None) -> Track:
    """Find the wear track of a face whose light is taken out.

    Args:
        lit: the unrolled face.
        mm_per_radius: millimetres of an outer radius; None where no scale is known.
    """
    found = profiles(lit)
    if found.seen.mean() < _LEAST_SEEN:
        return Track("undecided", lit.judged_share)
    table = bands(found)
    band = best_band(table)
    proofs = evidence(band.table, band)
    channel = max(range(len(proofs)), key=lambda n: (_is_track(proofs[n]), proofs[n].weight))
    proof = proofs[channel]
    judged = lit.judged_share >= _LEAST_JUDGED
    if not _is_track(proof):
        none = judged and not _is_track(proof, _MAYBE_SHARE)
        return Track("none" if none else "undecided", lit.judged_share, None, proof)
    basis = terms(ANGLES)
    alone = table.contrast((basis @ band.inner)[None], (basis @ band.outer)[None])[:, 0]
    course = Course(
        _radii(band.inner, lit, found.rows),
        _radii(band.outer, lit, found.rows),
        ~gaps(alone[channel], found.seen, band.table.seen),
    )
    evenness = _evenness(course, mm_per_radius) if judged else "undecided"
    return Track(evenness, lit.judged_share, course, proof)


def _is_track(proof: Evidence, least_share: float | None = None) -> bool:
    """Return whether a band is a track; with a least share of its own, whether it may be one."""
    if proof.weight < _LEAST_WEIGHT or proof.support < _LEAST_SUPPORT:
        return False
    if least_share is None:
        least_share = _LEAST_SHARE if proof.weight < _STRONG_WEIGHT else _STRONG_SHARE
    return proof.share >= least_share


def _radii(edge: Array, lit: LitStrip, rows: int) -> Array:
    """Return an edge in outer radii that is given in rows of the profiles."""
    radii, face = lit.strip.radii, lit.strip.face_rows
    trim = round(TRIM * (face.stop - face.start))
    pixel = float(radii[1] - radii[0])
    scaled = edge * ((face.stop - face.start - 2 * trim) / rows * pixel)
    # Edge 0 is the near side of the first row.
    scaled[0] += radii[face.start + trim] - pixel / 2
    return np.asarray(scaled, np.float64)


def _evenness(course: Course, mm_per_radius: float | None) -> Evenness:
    least, most = course.widths
    if mm_per_radius is None:
        moved = course.offset > _UNEVEN_OFFSET_RADII
    else:
        moved = course.offset * mm_per_radius > _UNEVEN_OFFSET_MM
    return "uneven" if moved or most > _UNEVEN_RATIO * least or not course.touched.all() else "even"
