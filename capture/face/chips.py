"""Chips: pieces broken out of the inner or the outer edge of the face."""

from __future__ import annotations

import math

import numpy as np

from capture.face.ground import Ground
from capture.face.parts import Part

#: A chip begins within so many pixels of the edge.
_AT_EDGE_PX = 2.5
#: Within so many pixels of the edge is a chip's foot: at least this share of its length.
_FOOT_PX, _FOOT_SHARE = 4.0, 0.3
#: Shortest chip along the edge, pixels, blur included.
_SHORTEST_PX = 6.0


def at_edge(part: Part, ground: Ground) -> bool:
    """Tell whether a part reaches the inner or the outer edge."""
    rim = _AT_EDGE_PX * ground.pixel
    return part.r_out > 1 - rim or part.r_in < ground.bore + rim


def rim_distance(part: Part, ground: Ground) -> float:
    """Return how far a part stays from the nearer edge of the face, outer radii."""
    return max(0.0, min(1 - part.r_out, part.r_in - ground.bore))


def foot_share(part: Part, ground: Ground) -> float:
    """Return how much of its length along the nearer edge a part has there."""
    radii = ground.radii[part.rows]
    foot = _FOOT_PX * ground.pixel
    outer = 1 - part.r_out < part.r_in - ground.bore
    near = (radii > 1 - foot) if outer else (radii < ground.bore + foot)
    return len(np.unique(part.columns[near])) / max(len(np.unique(part.columns)), 1)


def rooted(part: Part, ground: Ground) -> bool:
    """Tell whether a part stands on the edge that it reaches, widest there as a piece broken out is."""
    return foot_share(part, ground) > _FOOT_SHARE


def depth(part: Part, ground: Ground) -> float:
    """Return how far a part reaches in from the nearer edge, outer radii."""
    return min(1 - part.r_in, part.r_out - ground.bore)


def too_short(part: Part, ground: Ground) -> bool:
    """Tell whether a part at an edge is no longer than a stray bright pixel."""
    return part.r_in * math.radians(part.arc_deg) < _SHORTEST_PX * ground.pixel
