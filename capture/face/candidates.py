"""What on a face may be a mark: lines along, patches of colour, parts that stray, with their measures."""

from __future__ import annotations

from dataclasses import dataclass

from capture.face.colour_patches import belongs_to, colour_patches, runs_through
from capture.face.ground import Ground, Map
from capture.face.joined import joined
from capture.face.kinds import too_small
from capture.face.mark import Mark
from capture.face.part_measures import Measures, measures_of
from capture.face.parts import SURE, Part, parts_of
from capture.face.scores import lines_of
from capture.face.track import Track

#: How far beyond its end a score still shows, degrees; what runs across it is a mark of its own.
_SCORE_END_DEG, _ACROSS_DEG = 3.0, 50.0
#: The strongest parts only: on a face full of texture there are hundreds.
_MOST_PARTS = 60


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """Something that may be a mark."""

    part: Part
    measures: Measures


def lines(ground: Ground, patches: list[Part], track: Track | None) -> list[tuple[Mark, Measures]]:
    """Return the lines along the circles that may be scores, a patch's own streaks left out."""
    found = lines_of(ground, track)
    return [(line, how) for line, how in found if not any(runs_through(line, patch) for patch in patches)]


def patches(ground: Ground, signal: Map, track: Track | None) -> list[Candidate]:
    """Return the patches of another colour."""
    return _measured(colour_patches(ground, signal), ground, signal, track)


def parts(ground: Ground, signal: Map, coloured: list[Part], track: Track | None) -> list[Candidate]:
    """Return the parts that belong to no patch, the pieces of a line put together."""
    columns = ground.lit.strip.columns
    found = [
        part
        for part in parts_of(ground, signal)
        if not any(belongs_to(part, patch, columns) for patch in coloured) and not too_small(part, ground)
    ]
    found = sorted(found, key=lambda part: -part.strength)[:_MOST_PARTS]
    whole = joined([part for part in found if part.strength > SURE], ground, signal)
    faint = [part for part in found if part.strength <= SURE]
    return _measured(whole + faint, ground, signal, track)


def _measured(found: list[Part], ground: Ground, signal: Map, track: Track | None) -> list[Candidate]:
    return [Candidate(part, measures_of(part, found, ground, signal, track)) for part in found]


def along(part: Part, score: Mark) -> bool:
    """Tell whether a part is a piece of a score, or what its end does to the ground."""
    apart = abs((part.angle_deg - score.angle_deg + 180) % 360 - 180)
    if apart > (score.arc_deg + part.arc_deg) / 2 + _SCORE_END_DEG or part.direction_deg < _ACROSS_DEG:
        return False
    width = score.r_out - score.r_in
    return part.r_in < score.r_out + width and part.r_out > score.r_in - width
