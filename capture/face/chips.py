"""Chips: pieces broken out of the inner or the outer edge of the face."""

from __future__ import annotations

import math

import numpy as np

from capture.face.ground import Ground
from capture.face.parts import Part

#: A chip begins within so many pixels of the edge.
_AT_EDGE_PX = 2.5
#: How far the edge found may lie beside the true one, in outer radii, and what blur adds, in pixels: what
#: strays only there is the edge and no chip.
_EDGE_ERROR, _EDGE_BLUR_PX = 0.0025, 2.0
#: A part not deeper than so many pixels is a chip only from this strength on.
_SHALLOW_PX, _SHALLOW_STRENGTH = 3.2, 1.5
#: Within so many pixels of the edge is a chip's foot: at least this share of its length.
_FOOT_PX, _FOOT_SHARE = 4.0, 0.3
#: Shortest chip along the edge, pixels, blur included.
_SHORTEST_PX = 6.0
#: A chip passes the threshold of chance by so much, or differs so much from the face (logarithm).
_CLEAR, _LEAST_CONTRAST = 1.6, 0.115
#: A chip is at least so deep for its length along the edge: a long shallow one is an edge found aside.
#: A long one (degrees) is deeper yet: the end of glare along an edge is not.
_LEAST_DEPTH, _LONG_DEG, _LONG_DEPTH = 0.2, 9.0, 0.29


def at_edge(part: Part, ground: Ground) -> bool:
    """Tell whether a part reaches the inner or the outer edge."""
    rim = _AT_EDGE_PX * ground.pixel
    return part.r_out > 1 - rim or part.r_in < ground.bore + rim


def rooted(part: Part, ground: Ground) -> bool:
    """Tell whether a part stands on the edge that it reaches, widest there as a piece broken out is."""
    radii = ground.radii[part.rows]
    foot = _FOOT_PX * ground.pixel
    near = (radii > 1 - foot) if part.r_out > 1 - foot else (radii < ground.bore + foot)
    return len(np.unique(part.columns[near])) > _FOOT_SHARE * len(np.unique(part.columns))


def depth(part: Part, ground: Ground) -> float:
    """Return how far a part reaches in from the nearer edge, outer radii."""
    return min(1 - part.r_in, part.r_out - ground.bore)


def too_short(part: Part, ground: Ground) -> bool:
    """Tell whether a part at an edge is no longer than a stray bright pixel."""
    return part.r_in * math.radians(part.arc_deg) < _SHORTEST_PX * ground.pixel


def too_faint(part: Part) -> bool:
    """Tell whether a part at an edge neither stands out clearly nor differs much in brightness."""
    return part.strength < _CLEAR and abs(part.contrast) < _LEAST_CONTRAST


def in_the_rim(part: Part, ground: Ground) -> bool:
    """Tell whether a part lies no deeper than an edge found a little beside the true one makes it."""
    deep = depth(part, ground)
    if deep < _EDGE_ERROR + _EDGE_BLUR_PX * ground.pixel:
        return True
    if deep < _SHALLOW_PX * ground.pixel and part.strength < _SHALLOW_STRENGTH:
        return True
    least = _LONG_DEPTH if part.arc_deg > _LONG_DEG else _LEAST_DEPTH
    return at_edge(part, ground) and deep < least * math.radians(part.arc_deg) * part.r_in
