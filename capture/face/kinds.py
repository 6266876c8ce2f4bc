"""What a part that strays from the face is: rules on its shape, direction, place and shade."""

from __future__ import annotations

from capture.face.blemishes import patch_kind
from capture.face.ground import Ground
from capture.face.parts import Part
from shared.photo import DefectKind

#: A line is at least so many times longer than wide.
_SLENDER = 3.0


#: How far the edge found may lie beside the true one, in outer radii, and what blur adds, in pixels: what
#: strays only there is the edge and no chip.
_EDGE_ERROR, _EDGE_BLUR_PX = 0.005, 2.0


def in_the_rim(part: Part, ground: Ground) -> bool:
    """Tell whether a part lies no deeper than an edge found a little beside the true one makes it."""
    pixel = float(ground.radii[1] - ground.radii[0])
    rim = _EDGE_ERROR + _EDGE_BLUR_PX * pixel
    return part.r_in > 1 - rim or part.r_out < ground.lit.strip.plane.bore + rim


def kind_of(part: Part, ground: Ground) -> DefectKind:
    """Return the kind of one part by itself."""
    bore = ground.lit.strip.plane.bore
    pixel = float(ground.radii[1] - ground.radii[0])
    rim = 2.5 * pixel
    at_edge = part.r_out > 1 - rim or part.r_in < bore + rim
    if part.slender >= _SLENDER:
        if part.direction_deg > 75 and not at_edge:
            return "score"
        dark = part.light < 0.35
        across = (part.r_out - part.r_in) / (1 - bore)
        if dark and part.bend > 0.012 and part.direction_deg < 60 and (at_edge or across > 0.5):
            return "crack"
        if at_edge and part.direction_deg > 60:
            return "chip"
        return "scratch"
    if at_edge:
        return "chip"
    return patch_kind(part, ground)
