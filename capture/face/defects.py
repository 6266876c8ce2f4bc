"""The marks on a seal face: every family looked for, and nothing told twice.

What strays from the face is told from chance, and a deposit from damage, by measures weighed by what was
learnt of rendered faces (mark_weights.yaml, by bench/train_marks.py): each measure is a plain number, and
the score of a mark is how sure that makes it.
"""

from __future__ import annotations

from capture.face.candidates import Candidate, along, lines, parts, patches
from capture.face.ground import ground_of
from capture.face.heat_checks import heat_checks_of
from capture.face.kinds import kind_of
from capture.face.lighting import LitStrip
from capture.face.mark import Mark
from capture.face.mark_belief import belief
from capture.face.parts import Part
from capture.face.scores import put_together
from capture.face.track import Track
from shared.photo import DefectKind

#: How sure it must be that a part is a mark, that it is one of many fine checks, that a mark may clean off;
#: that a line is a score, a patch of colour a deposit. Of the candidates of development pictures left out in
#: turn (two makers, rings up to 0.7 % wrong) 90 % of the true parts are found, 88 % of those found are true.
_LEAST_BELIEF, _LEAST_OF_MANY, _DEPOSIT = 0.5, 0.3, 0.5
_LEAST_OF_SCORE, _LEAST_OF_PATCH = 0.5, 0.35
#: A score that is a part's doing is less than so many times as long.
_MUCH_LONGER = 2.0
#: From this darkness (logarithm against the face) on what is no longer than so many widths is a hole: 55 of
#: 59 such parts of development pictures are damage.
_BLACK, _ROUND = -1.2, 2.7


def find_defects(lit: LitStrip, track: Track | None) -> list[Mark]:
    """Return the marks on a face, in the order of their angles.

    Args:
        lit: the face unrolled, its light taken out.
        track: the wear track, where it is known: its ends and edges are no marks.
    """
    ground = ground_of(lit)
    signal = ground.signal
    coloured = [one for one in patches(ground, signal, track) if _belief(one, "patch") > _LEAST_OF_PATCH]
    patch_parts = [one.part for one in coloured]
    scores = [
        line
        for line, measures in lines(ground, patch_parts, track)
        if belief("score", measures) > _LEAST_OF_SCORE
    ]
    found = parts(ground, signal, patch_parts, track)
    scores = [score for score in put_together(scores, ground) if not _is_short_line(score, found)]
    likely = [
        one
        for one in found
        if _belief(one, "part") > _LEAST_OF_MANY and not any(along(one.part, score) for score in scores)
    ]
    checks, rest = heat_checks_of([one.part for one in likely])
    left = {id(part) for part in rest}
    marks = [*scores, *checks, *(_mark(one.part, "deposit", _belief(one, "patch")) for one in coloured)]
    for one in likely:
        sure = _belief(one, "part")
        if id(one.part) in left and sure > _LEAST_BELIEF:
            kind = "deposit" if _may_clean_off(one) else kind_of(one.part, ground)
            marks.append(_mark(one.part, kind, sure))
    return sorted(marks, key=lambda mark: mark.angle_deg)


def _may_clean_off(one: Candidate) -> bool:
    """Tell a deposit from damage; a black hole is never one, for it is not to be wiped and forgotten."""
    black = one.measures["shade"] < _BLACK and one.part.slender < _ROUND
    return belief("deposit", one.measures) > _DEPOSIT and not black


def _is_short_line(score: Mark, found: list[Candidate]) -> bool:
    """Tell whether a score is no more than what a surer part about as long does to its row."""
    return any(
        score.arc_deg < _MUCH_LONGER * one.part.arc_deg
        and along(one.part, score)
        and _belief(one, "part") > score.score
        for one in found
    )


def _belief(one: Candidate, family: str) -> float:
    return belief(family, one.measures)


def _mark(part: Part, kind: DefectKind, sure: float) -> Mark:
    return Mark(kind, part.angle_deg, part.arc_deg, part.r_in, part.r_out, part.length, sure)
