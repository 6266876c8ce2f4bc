"""Finds the flat sealing face in a picture, tilt and perspective removed, or says why there is none."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from capture.face.edges import SmallPicture
from capture.face.plane import FacePlane, plane_of_ellipse, upright
from capture.face.ring_bevel import within_bevels
from capture.face.ring_choice import Choice, choose, face_by_all
from capture.face.ring_closer import Closer, look_closer, reach_of
from capture.face.ring_fit import fit_plane
from capture.face.ring_pattern import pattern_measures
from capture.face.ring_refine import refine
from capture.face.ring_search import find_places
from capture.picture_quality import Picture
from shared.photo import Ellipse, Reason

Array = NDArray[np.float64]

#: A smaller picture shows no face.
_LEAST_SIDE_PX = 64
#: Share of both circles on which an edge must be seen. With 0.5 twelve of 185 faces of one renderer were no
#: ring, with 0.4 two.
LEAST_SUPPORT = 0.42
#: Seen on less, but on this share at least and this much like a face, a ring is none unless the second look
#: sees both edges on the other share: three of four such sketches were right faces, and of 49 pictures
#: of no face or none to be used none came so far.
_FAINT_SUPPORT, _FAINT_FACE, _CLOSE_SUPPORT = 0.35, 0.5, 0.5
#: Change of scale from the centre to the edge. A face of 90 mm seen from 120 mm and tilted by 40 degrees has
#: 0.24; what has more is no circle.
_MOST_PERSPECTIVE = 0.35
#: A ring that looks less like a face than this to both looks and by its pattern is refused. Measured with
#: pictures left out in turn (five makers, 190 faces, 147 other rings): 1 face and 108 others are below.
_LEAST_FACE = 0.29
#: What looks less like one than this is told where it is not refused: 14 faces more and 26 others.
_SURE_FACE = 0.65
#: Less trust than this is told. Of 236 rings of six makers and set-ups 37 of 42 wrong ones lie below and
#: 43 of 194 right ones; with 0.75 it was 24 and 21.
_SURE = 0.86
#: Less trust than this and the second look is taken again, about the ring that it gave: what a loose ring in
#: the bore or a boot tilted otherwise had blurred is seen then. The likelier of both is kept: of 181 sketches
#: unlearnt 144 are right instead of 140, none is lost.
_LOOK_AGAIN = 0.5
#: Two rings: the smaller has this share of the larger's diameter at least, and they lie side by side.
_SAME_SIZE, _APART = 0.55, 0.8
#: A coin, a cap, an O-ring beside a face is no second one: it does not look like one or has so much less log
#: odds. Of three makers' three second faces none has 5 less; of five other things two have 15 less.
_SECOND_LESS = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class RingFound:
    """A face's plane, or why none is given."""

    plane: FacePlane | None
    reason: Reason | None
    """no_ring, two_rings or ring_out_of_frame; None where there is a face."""
    what: str
    """Plain words: what is seen."""
    trust: float
    """0 to 1: how sure it is that these are the edges of the flat face; measured on pictures left out."""
    face: float = 1.0
    """0 to 1: how much the ring looks like a seal face rather than a washer, a rim, a cap."""
    rival: tuple[float, float] | None = None
    """Outer and inner diameter of the next likely face, in those of this one."""
    refused: FacePlane | None = None
    """Of a ring that looks like no seal face: what lights it may be why."""

    @property
    def sure(self) -> bool:
        """Whether lengths may be told without a word of doubt."""
        return self.trust >= _SURE

    @property
    def is_face(self) -> bool:
        """Whether it may be told without a word of doubt that this is a seal face."""
        return self.face >= _SURE_FACE


def find_ring(picture: Picture, *, least_face: float = _LEAST_FACE) -> RingFound:
    """Find the flat face.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.
        least_face: how much like a face a ring must look, 0 to 1; 0 where its light hides what it is.
    """
    if min(picture.shape[:2]) < _LEAST_SIDE_PX:
        return RingFound(None, "no_ring", "a picture too small to show a face", 0.0)
    small, places = find_places(picture)
    choices = [choice for place in places if (choice := choose(place)) is not None]
    choices.sort(key=lambda choice: -choice.score)
    clear = [choice for choice in choices if choice.least_support >= LEAST_SUPPORT]
    choices = clear or [choice for choice in choices[:1] if _may_be_faint(choice)]
    if not choices:
        return RingFound(None, "no_ring", "no ring", 0.0)
    planes = [rough_plane(small, choice) for choice in choices]
    rough = planes[0]
    closer = looked_closer(picture, rough, choices[0])
    if not clear and (closer is None or closer.choice.least_support < _CLOSE_SUPPORT):
        return RingFound(None, "no_ring", "no ring", 0.0)
    trust = min(choices[0].share, choices[0].face) if closer is None else closer.trust
    planes[0] = upright(_near_look(picture, small, planes[0]) if closer is None else closer.plane)
    if closer is not None and out_of_frame(planes[0], picture):
        # A flange, a shell or a step that the picture cuts off may hold a face that it shows whole.
        inside = look_closer(picture, rough, reach_of(choices[0]), whole=True)
        if inside is not None:
            closer, trust, planes[0] = inside, inside.trust, upright(inside.plane)
    if out_of_frame(planes[0], picture):
        return RingFound(None, "ring_out_of_frame", "a ring that the picture cuts off", trust)
    if len(planes) > 1 and _may_be_second(choices, least_face) and _two(planes[0], planes[1]):
        return RingFound(None, "two_rings", "two rings", trust)
    face = choices[0].face
    if closer is not None:
        face = face_by_all(choices[0], closer.choice, pattern_measures(picture, planes[0]))
    if face < least_face or _is_no_circle(planes[0]):
        what = "a ring that is no seal face, such as a washer or a rim"
        return RingFound(None, "no_ring", what, trust, face, refused=planes[0])
    rival = (choices[0] if closer is None else closer.choice).rival
    return RingFound(planes[0], None, "a face", trust, face, rival)


def _may_be_second(choices: list[Choice], least_face: float) -> bool:
    return choices[1].face >= least_face and choices[1].score > choices[0].score - _SECOND_LESS


def _may_be_faint(choice: Choice) -> bool:
    return choice.least_support >= _FAINT_SUPPORT and choice.face >= _FAINT_FACE


def looked_closer(picture: Picture, rough: FacePlane, choice: Choice) -> Closer | None:
    """Look closer at a pair, and again where the answer is little trusted; None where no pair is seen."""
    closer = look_closer(picture, rough, reach_of(choice))
    if closer is None or closer.trust >= _LOOK_AGAIN:
        return closer
    again = look_closer(picture, closer.plane, reach_of(closer.choice))
    return again if again is not None and again.choice.score > closer.choice.score else closer


def out_of_frame(plane: FacePlane, picture: Picture) -> bool:
    """Whether the picture cuts off the outer edge."""
    degrees = np.arange(0.0, 360.0, 3.0)
    around = plane.polar_pixels(np.ones(len(degrees)), degrees)
    height, width = picture.shape[:2]
    return bool(np.any((around < 0) | (around > (width - 1, height - 1))))


def _is_no_circle(plane: FacePlane) -> bool:
    return float(np.hypot(*(plane.to_px[2, :2] / plane.to_px[2, 2]))) > _MOST_PERSPECTIVE


def _two(first: FacePlane, second: FacePlane) -> bool:
    """Whether two rings lie apart and are of much the same size."""
    sizes = sorted([first.outer.major_px, second.outer.major_px])
    apart = float(np.hypot(*np.subtract(first.outer.centre_px, second.outer.centre_px)))
    return sizes[0] > _SAME_SIZE * sizes[1] and apart > _APART * sum(sizes) / 2


def _near_look(picture: Picture, small: SmallPicture, rough: FacePlane) -> FacePlane:
    """Fit the pair of the first look in the whole picture."""
    refined = refine(picture, rough, 1 / small.shrink)
    # Points of a ring that is none may turn it inside out.
    return within_bevels(picture, refined if refined.bore < 1.0 else rough)


def rough_plane(small: SmallPicture, choice: Choice) -> FacePlane:
    """Return the plane of a pair as it was found, in pixels of the whole picture."""
    disc = choice.place.disc
    outer = choice.place.edges[choice.outer].curve
    inner = choice.place.edges[choice.inner].curve
    points = [_points(curve.radius(disc.angles), disc.angles) for curve in (outer, inner)]
    frame = outer.frame(disc.frame)
    values, vectors = np.linalg.eigh(frame.level)
    turn = float(np.degrees(np.arctan2(vectors[1, 0], vectors[0, 0]))) % 180
    major = 2 * outer.size / float(values[0])
    ellipse = Ellipse(
        centre_px=(float(frame.centre[0]), float(frame.centre[1])),
        major_px=major,
        minor_px=major * float(values[0] / values[1]),
        angle_deg=turn,
    )
    rough = plane_of_ellipse(ellipse, inner.size / outer.size)
    rough = fit_plane(rough, disc.frame.pixels(points[0]), disc.frame.pixels(points[1]))
    return FacePlane(small.to_full(rough.to_px), rough.bore)


def _points(radius: Array, angles: Array) -> Array:
    return np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])
