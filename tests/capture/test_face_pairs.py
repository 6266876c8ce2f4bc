"""The same face before and after cleaning: painted, turned in the picture's plane, lit otherwise."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from capture.face.defects import find_defects
from capture.face.lighting import LitStrip, lit
from capture.face.mark import Mark
from capture.face.mark_fates import fates_of
from capture.face.pair_drawing import pair_picture
from capture.face.pairs import compare_faces
from capture.face.plane import FacePlane
from capture.face.strip import unrolled
from tests.capture.face_painter import PaintedFace

TURN = 73.0


class Seen:
    """A face found in a picture, as an inspection holds it."""

    def __init__(self, strip: LitStrip | None, marks: list[Mark]) -> None:
        self.strip, self.marks = strip, marks


def seen(picture: np.ndarray, plane: FacePlane) -> Seen:
    strip = lit(unrolled(picture, plane))
    return Seen(strip, find_defects(strip, None))


def face(**changes: object) -> PaintedFace:
    painted = PaintedFace(lay=2.5, light=0.1, **changes)  # type: ignore[arg-type]
    painted.stroke((0.74, 40.0), (0.95, 47.0), 2.0, 0.55)
    painted.stroke((0.78, 200.0), (0.96, 196.0), 2.0, 0.6)
    return painted


def turned(painted: PaintedFace, degrees: float = TURN) -> Seen:
    """The face turned counter-clockwise by so much, a little smaller, lit from one side, with more noise."""
    picture, plane = painted.paint(), painted.plane()
    height, width = picture.shape[:2]
    about = np.vstack([cv2.getRotationMatrix2D(plane.outer.centre_px, degrees, 0.95), [0, 0, 1]])
    moved = cv2.warpAffine(picture, about[:2], (width, height), borderMode=cv2.BORDER_REFLECT)
    side = moved * np.linspace(0.8, 1.25, width)[None, :, None]
    grainy = np.clip(side + np.random.default_rng(9).normal(0, 2, side.shape), 0, 255).astype(np.uint8)
    back = np.radians(-degrees)
    upright = np.array([[np.cos(back), -np.sin(back), 0], [np.sin(back), np.cos(back), 0], [0, 0, 1]])
    return seen(grainy, FacePlane(about @ plane.to_px @ upright, plane.bore))


def test_what_went_what_stayed_and_what_is_new() -> None:
    found = face()
    found.spot(0.85, 120.0, 0.035, 0.55, (0.7, 0.9, 1.1))
    left = face()
    left.stroke((0.75, 300.0), (0.95, 304.0), 2.0, 0.5)
    before, after = seen(found.paint(), found.plane()), turned(left)
    pair = compare_faces(before, after)
    assert pair.obstacle == ""
    assert pair.turn is not None
    assert pair.turn.degrees == pytest.approx(TURN, abs=1.0)
    fates = {(fate.fate, round(fate.angle_deg / 10) * 10) for fate in pair.fates}
    assert fates == {("stayed", 40), ("gone", 120), ("stayed", 200), ("new", 300)}
    drawn = pair_picture(before, after, pair)
    assert drawn is not None
    assert drawn.shape[1] == 1970


def test_a_mark_that_was_only_missed_did_not_go() -> None:
    before, after = seen(face().paint(), face().plane()), turned(face())
    assert before.strip is not None
    assert after.strip is not None
    assert {fate.fate for fate in fates_of((before.strip, before.marks), (after.strip, []), TURN)} == {
        "stayed"
    }
    assert {fate.fate for fate in fates_of((before.strip, []), (after.strip, after.marks), TURN)} == {
        "stayed"
    }


def test_a_score_is_looked_for_along_its_arc() -> None:
    scored = face()
    scored.groove(0.86, 250.0, 330.0, 1.6, 0.6)
    score = Mark("score", 290.0, 80.0, 0.855, 0.865, 1.2, 0.8)
    before, with_it, without = seen(scored.paint(), scored.plane()), turned(scored), turned(face())
    assert before.strip is not None
    for after, fate in ((with_it, "stayed"), (without, "gone")):
        assert after.strip is not None
        assert [each.fate for each in fates_of((before.strip, [score]), (after.strip, []), TURN)] == [fate]


def test_a_place_under_glare_is_not_judged() -> None:
    before = seen(face().paint(), face().plane())
    picture, plane = face().paint(), face().plane()
    x, y = plane.polar_pixels(np.array([0.85]), np.array([43.0]))[0]
    cv2.circle(picture, (round(x), round(y)), 45, (255, 255, 255), -1)
    pair = compare_faces(before, seen(picture, plane))
    assert {(fate.fate, round(fate.angle_deg / 10) * 10) for fate in pair.fates} >= {
        ("hidden", 40),
        ("stayed", 200),
    }


@pytest.mark.parametrize("seed", [2, 3, 4])
def test_another_face_is_not_taken_for_the_same(seed: int) -> None:
    other = PaintedFace(lay=2.5, light=0.1, seed=seed)
    other.stroke((0.74, 10.0 * seed), (0.95, 10.0 * seed + 5), 2.0, 0.55)
    assert not compare_faces(seen(face().paint(), face().plane()), turned(other)).same


def test_a_face_without_texture_or_marks_cannot_be_recognised() -> None:
    # Camera noise is another one in every picture: another seed.
    plain, again = PaintedFace(lay=0.0, light=0.1), PaintedFace(lay=0.0, light=0.1, seed=8)
    pair = compare_faces(seen(plain.paint(), plain.plane()), turned(again))
    assert "cannot be told to be the same face" in pair.obstacle
    assert pair.fates == ()


def test_faces_of_another_width_are_two() -> None:
    narrow = PaintedFace(lay=2.5, bore=0.8)
    pair = compare_faces(seen(face().paint(), face().plane()), seen(narrow.paint(), narrow.plane()))
    assert "two faces" in pair.obstacle


def test_a_picture_without_a_face_is_said_to_be_which() -> None:
    assert "second picture" in compare_faces(seen(face().paint(), face().plane()), Seen(None, [])).obstacle
