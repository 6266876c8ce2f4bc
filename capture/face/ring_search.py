"""The discs of a picture: places with circles about them, unrolled with tilt and edges, the best first."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from capture.face.edges import SmallPicture, edge_points, small_picture
from capture.face.ring_centres import find_centres
from capture.face.ring_curves import Edge, find_edges
from capture.face.ring_disc import Disc, disc_about
from capture.face.ring_faint import faint_edges
from capture.face.ring_frame import Frame
from capture.picture_quality import Picture

#: The longer side of the picture at the close look.
CLOSE_PX = 1280
#: How far beyond the outermost circle that is seen well the close look reaches.
_BEYOND, _SEEN_WELL = 1.15, 0.5
#: Supports that say how good a place is, and discs looked at closely.
_COUNTED, _CLOSELY = 4, 2
#: Two places are one if their best edges' centres lie nearer than this share of the smaller edge's radius.
_ONE_PLACE = 0.35


@dataclass(frozen=True, slots=True, eq=False)
class Place:
    """A disc and its edges, the best seen first."""

    disc: Disc
    edges: list[Edge]

    @property
    def worth(self) -> float:
        """Sum of the best supports, by which places are ranked."""
        best = sorted((edge.support for edge in self.edges), reverse=True)[:_COUNTED]
        return float(sum(best))


def find_places(picture: Picture) -> tuple[SmallPicture, list[Place]]:
    """Find the places of a picture that have circles about them, each once, the best first.

    Returns:
        The picture as it was looked at closely, and the places in its pixels.
    """
    small = small_picture(picture)
    rough = [
        place
        for frame in find_centres(edge_points(small), small.size)
        if (place := _rough(small, frame)).edges
    ]
    rough.sort(key=lambda place: -place.worth)
    close = small_picture(picture, CLOSE_PX, 0.7)
    places = [_close(close, place, close.shrink / small.shrink) for place in _distinct(rough)[:_CLOSELY]]
    places = _distinct([place for place in places if place.edges])
    places.sort(key=lambda place: -place.worth)
    return close, places


def _rough(small: SmallPicture, frame: Frame) -> Place:
    width, height = small.size
    x, y = frame.centre
    furthest = float(max(x, width - x, y, height - y))
    disc = disc_about(small.picture, frame, furthest, columns=180, rows=200, along_deg=2.5)
    return Place(disc, find_edges(disc))


def _close(picture: SmallPicture, rough: Place, grown: float) -> Place:
    """Look again at the finer picture, ``grown`` times as large, no further than circles were seen."""
    frame = _common_frame(rough)
    sizes = [edge.curve.size for edge in rough.edges if edge.support > _SEEN_WELL]
    furthest = min(_BEYOND * max(sizes, default=rough.disc.radii[-1]), float(rough.disc.radii[-1])) * grown
    half = 0.5 * (grown - 1)
    frame = Frame(frame.centre * grown + half, frame.level)
    disc = disc_about(picture.picture, frame, furthest, columns=360, rows=480, along_deg=4.0)
    edges = find_edges(disc, tilt_known=True)
    return Place(disc, [*edges, *faint_edges(disc, edges)])


def _common_frame(place: Place) -> Frame:
    """The centre of the best edge, and the tilt of all edges, weighed by how well they are seen."""
    frames = [edge.curve.frame(place.disc.frame) for edge in place.edges[:8]]
    weights = np.array([edge.support**3 for edge in place.edges[:8]])
    level = np.average([frame.level for frame in frames], axis=0, weights=weights)
    return Frame(frames[0].centre, level)


def _distinct(places: list[Place]) -> list[Place]:
    kept: list[Place] = []
    for place in places:
        best = place.edges[0].curve
        centre = best.frame(place.disc.frame).centre
        for other in kept:
            theirs = other.edges[0].curve
            apart = np.linalg.norm(theirs.frame(other.disc.frame).centre - centre)
            if apart < _ONE_PLACE * min(best.size, theirs.size):
                break
        else:
            kept.append(place)
    return kept
