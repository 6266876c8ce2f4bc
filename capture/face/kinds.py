"""What a part that strays from the face is: rules on its shape, direction, place and shade."""

from __future__ import annotations

from capture.face.blemishes import patch_kind
from capture.face.chips import at_edge, too_short
from capture.face.ground import Ground
from capture.face.parts import Part
from shared.photo import DefectKind

#: A line is at least so many times longer than wide ...
SLENDER = 3.0
#: ... and no wider than so many pixels, and besides a share of the face's width.
_LINE_PX, _LINE_SHARE = 3.5, 0.04
#: A crack goes through most of the face; a scratch is straighter than this (root mean square by length).
_CRACK_SHARE, _STRAIGHT = 0.45, 0.012
#: Degrees from the radius up to which a line runs across the face, from which on along it.
_ACROSS_DEG, _ALONG_DEG = 60.0, 75.0
#: Shortest mark, narrowest patch, least area, in pixels of the unrolled face, blur included: less is a speck
#: of dust or a stray bright pixel.
_SHORTEST_PX, _NARROWEST_PX, _LEAST_PX = 5.0, 3.0, 15.0


def too_small(part: Part, ground: Ground) -> bool:
    """Tell whether a part is no larger than a speck."""
    narrow = part.width < _NARROWEST_PX * ground.pixel and part.slender < SLENDER
    small = part.length * part.width < _LEAST_PX * ground.pixel**2
    narrow |= at_edge(part, ground) and part.slender < SLENDER and too_short(part, ground)
    return small or narrow or part.length < _SHORTEST_PX * ground.pixel


def kind_of(part: Part, ground: Ground) -> DefectKind | None:
    """Return the kind of one part by itself; None where it is nothing to be told."""
    edge = at_edge(part, ground)
    across = (part.r_out - part.r_in) / (1 - ground.bore)
    thin = part.width / ground.pixel < _LINE_PX + _LINE_SHARE * len(ground.radii)
    if thin and part.slender >= SLENDER:
        if part.direction_deg > _ALONG_DEG:
            return "chip" if edge else "score"
        bent = part.bend > _STRAIGHT and part.direction_deg < _ACROSS_DEG
        if edge and bent and across > _CRACK_SHARE:
            return "crack"
        if not (edge and across < _CRACK_SHARE and part.slender < 2 * SLENDER):
            return "scratch"
    return patch_kind(part, ground, edge)
