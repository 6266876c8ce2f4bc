"""What a part that is damage is called: rules on its shape, direction, place and shade."""

from __future__ import annotations

from capture.face.blemishes import patch_of
from capture.face.chips import at_edge, rooted, too_short
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
#: A dome's slope of brightness from side to side, as a share of the patch's whole variation.
_DOME = 0.45


def too_small(part: Part, ground: Ground) -> bool:
    """Tell whether a part is no larger than a speck."""
    narrow = part.width < _NARROWEST_PX * ground.pixel and part.slender < SLENDER
    small = part.length * part.width < _LEAST_PX * ground.pixel**2
    narrow |= at_edge(part, ground) and part.slender < SLENDER and too_short(part, ground)
    return small or narrow or part.length < _SHORTEST_PX * ground.pixel


def kind_of(part: Part, ground: Ground) -> DefectKind:
    """Return the kind of a part that is damage."""
    thin = part.width / ground.pixel < _LINE_PX + _LINE_SHARE * len(ground.radii)
    if thin and part.slender >= SLENDER:
        return _line_kind(part, ground)
    if at_edge(part, ground) and rooted(part, ground):
        return "chip"
    if part.slender >= SLENDER:
        return "scratch"
    dome = patch_of(part, ground).slope > _DOME or part.light > 0.5
    return "blister" if dome else "pit"


def _line_kind(part: Part, ground: Ground) -> DefectKind:
    edge = at_edge(part, ground)
    if part.direction_deg > _ALONG_DEG:
        return "chip" if edge else "score"
    across = (part.r_out - part.r_in) / (1 - ground.bore)
    if edge and part.bend > _STRAIGHT and part.direction_deg < _ACROSS_DEG and across > _CRACK_SHARE:
        return "crack"
    if edge and across < _CRACK_SHARE and part.slender < 2 * SLENDER and rooted(part, ground):
        return "chip"
    return "scratch"
