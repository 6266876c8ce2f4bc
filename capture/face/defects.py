"""The marks on a seal face: every family looked for, and nothing told twice."""

from __future__ import annotations

from capture.face.chips import in_the_rim
from capture.face.colour_patches import belongs_to, colour_patches, runs_through
from capture.face.ground import ground_of
from capture.face.heat_checks import heat_checks_of
from capture.face.joined import joined
from capture.face.kinds import SLENDER, kind_of, too_small
from capture.face.lighting import LitStrip
from capture.face.mark import Mark
from capture.face.parts import SURE, Part, parts_of
from capture.face.scores import scores_of
from capture.face.track import Track
from capture.face.track_traces import is_track_end
from shared.photo import DefectKind

#: How far beyond its end a score still shows, degrees; what runs across it is a mark of its own.
_SCORE_END_DEG, _ACROSS_DEG = 3.0, 50.0


def find_defects(lit: LitStrip, track: Track | None) -> list[Mark]:
    """Return the marks on a face, in the order of their angles.

    Args:
        lit: the face unrolled, its light taken out.
        track: the wear track, where it is known: its ends are no patches.
    """
    ground = ground_of(lit)
    signal = ground.signal
    patches = colour_patches(ground, signal)
    scores = [
        score for score in scores_of(ground) if not any(runs_through(score, patch) for patch in patches)
    ]
    columns = lit.strip.columns
    found = [
        part
        for part in parts_of(ground, signal)
        if not any(_along(part, score) for score in scores)
        and not any(belongs_to(part, patch, columns) for patch in patches)
    ]
    marks, rest = heat_checks_of([part for part in found if not too_small(part, ground)])
    sure = [part for part in rest if part.strength > SURE]
    marks += [_mark(patch, "deposit") for patch in patches]
    for part in joined(sure, ground, signal):
        line = part.slender >= SLENDER and part.direction_deg < _ACROSS_DEG
        if in_the_rim(part, ground) or (not line and is_track_end(part, track, ground)):
            continue
        kind = kind_of(part, ground)
        if kind is not None:
            marks.append(_mark(part, kind))
    return sorted(marks + scores, key=lambda mark: mark.angle_deg)


def _mark(part: Part, kind: DefectKind) -> Mark:
    score = 1 - 0.5 / part.strength
    return Mark(kind, part.angle_deg, part.arc_deg, part.r_in, part.r_out, part.length, score)


def _along(part: Part, score: Mark) -> bool:
    """Tell whether a part is a piece of a score, or what its end does to the ground."""
    apart = abs((part.angle_deg - score.angle_deg + 180) % 360 - 180)
    if apart > (score.arc_deg + part.arc_deg) / 2 + _SCORE_END_DEG or part.direction_deg < _ACROSS_DEG:
        return False
    width = score.r_out - score.r_in
    return part.r_in < score.r_out + width and part.r_out > score.r_in - width
