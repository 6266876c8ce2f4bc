"""What a wear track itself draws that looks like a mark: the ends of a stretch that the mate touched."""

from __future__ import annotations

import numpy as np

from capture.face.ground import Ground
from capture.face.parts import Part
from capture.face.track import Track
from capture.face.track_profiles import SECTORS

#: How far beyond the edges of the track its end may show, pixels.
_EDGE_PX = 3.0
#: Degrees on both sides of the end of a touched stretch in which a patch is the end itself.
_END_DEG = 14.0
#: A patch there that stands out so clearly (multiple of the threshold) is one all the same.
_CLEAR_PATCH = 2.5


def is_track_end(part: Part, track: Track | None, ground: Ground) -> bool:
    """Tell whether a patch is the end of a stretch that the mate touched."""
    if track is None or track.course is None or part.strength > _CLEAR_PATCH:
        return False
    edges = track.edges(np.array([part.angle_deg]))
    touched = track.course.touched
    ends = np.flatnonzero(touched != np.roll(touched, 1)) * (360.0 / SECTORS)
    if edges is None or not len(ends):
        return False
    apart = np.abs((part.angle_deg - ends + 180) % 360 - 180) - part.arc_deg / 2
    near = _EDGE_PX * ground.pixel
    return bool(apart.min() < _END_DEG and part.r_out > edges[0][0] - near and part.r_in < edges[1][0] + near)
