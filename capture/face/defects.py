"""The marks on a seal face: every family looked for, and nothing told twice."""

from __future__ import annotations

from capture.face.ground import ground_of
from capture.face.heat_checks import heat_checks_of
from capture.face.joined import joined
from capture.face.kinds import in_the_rim, kind_of
from capture.face.lighting import LitStrip
from capture.face.mark import Mark
from capture.face.parts import Part, parts_of
from capture.face.scores import scores_of
from capture.face.track import Track


def find_defects(lit: LitStrip, track: Track | None) -> list[Mark]:
    """Return the marks on a face, in the order of their angles.

    Args:
        lit: the face unrolled, its light taken out.
        track: the wear track, where it is known: its edges are no scores.
    """
    ground = ground_of(lit)
    signal = ground.signal
    scores = scores_of(ground)
    parts = [
        part for part in parts_of(ground, signal)
        if not in_the_rim(part, ground) and not any(_along(part, score) for score in scores)
    ]  # fmt: skip
    marks, parts = heat_checks_of(parts)
    marks += scores
    for part in joined(parts, ground, signal):
        marks.append(
            Mark(kind_of(part, ground), part.angle_deg, part.arc_deg, part.r_in, part.r_out, part.length,
                 1 - 0.5 / part.strength)
        )  # fmt: skip
    return sorted(marks, key=lambda mark: mark.angle_deg)


def _along(part: Part, score: Mark) -> bool:
    """Tell whether a part is a piece of a score."""
    apart = abs((part.angle_deg - score.angle_deg + 180) % 360 - 180)
    width = 1.5 * (score.r_out - score.r_in)
    inside = part.r_in > score.r_in - width and part.r_out < score.r_out + width
    return inside and apart < (score.arc_deg + part.arc_deg) / 2 + 3
