"""Drawings of inspected faces: what was found is where it was found, and no eye is left out."""

from __future__ import annotations

from itertools import combinations

import cv2
import numpy as np
import pytest

from capture.face.drawing import annotated, close_up, crops, mark_colour, track_runs
from capture.face.inspection import Inspection
from capture.face.lighting import lit
from capture.face.mark import Mark
from capture.face.pen import DAMAGE, DEPOSIT, EDGE, TRACK, Colour
from capture.face.ring import RingFound
from capture.face.strip import unrolled
from capture.face.strip_drawing import strip_picture
from capture.face.track import Track
from capture.face.track_course import Course
from shared.photo import FaceReport
from tests.capture.drawn_faces import View, coded, light_of, plane_of

VIEW = View()
MARKS = (
    Mark("chip", 30.0, 6.0, 0.95, 1.0, 0.1, 0.9),
    Mark("deposit", 215.0, 12.0, 0.85, 0.92, 0.15, 0.7),
)


def a_track(untouched: slice = slice(0, 0)) -> Track:
    touched = np.ones(72, np.bool_)
    touched[untouched] = False
    inner, outer = np.zeros(5), np.zeros(5)
    inner[:2], outer[:2] = (0.84, 0.02), (0.92, 0.02)
    return Track("uneven", 0.97, Course(inner, outer, touched))


def an_inspection(
    view: View = VIEW, marks: tuple[Mark, ...] = MARKS, track: Track | None = None
) -> Inspection:
    picture, plane = coded(light_of(view)), plane_of(view)
    track = track or a_track()
    report = FaceReport(
        usable=True, outer=plane.outer, inner=plane.inner, track=track.report(22.0), scale_from="sheet",
        px_per_mm=plane.outer.major_px / 44, outer_diameter_mm=44.0, inner_diameter_mm=34.0,
        defects=[mark.report(22.0) for mark in marks],
    )  # fmt: skip
    strip = lit(unrolled(picture, plane))
    found = RingFound(plane, None, "a face", 1.0)
    return Inspection(report, picture, 1.0, found, 22.0, plane, strip, track, marks)


@pytest.fixture(scope="module")
def inspection() -> Inspection:
    return an_inspection()


def share_of(picture: np.ndarray, colour: Colour) -> np.ndarray:
    """Where a picture has about this colour."""
    return np.abs(picture.astype(int) - colour).max(axis=2) < 40


def test_any_two_colours_differ_in_lightness_or_between_yellow_and_blue() -> None:
    # Who confuses red and green keeps L* and b* of CIE L*a*b* (common practice in colour design, no source).
    names = {"edge": EDGE, "track": TRACK, "damage": DAMAGE, "deposit": DEPOSIT}
    colours = np.array([[colour] for colour in names.values()], np.float32) / 255
    lab = cv2.cvtColor(colours, cv2.COLOR_BGR2Lab)[:, 0]
    for one, other in combinations(range(len(names)), 2):
        lightness, _, yellow = np.abs(lab[one] - lab[other])
        assert lightness >= 25 or yellow >= 45, (list(names)[one], list(names)[other])


def test_what_is_drawn_lies_where_it_was_found(inspection: Inspection) -> None:
    drawn = close_up(inspection)
    rows, columns = np.nonzero(share_of(drawn, DAMAGE))
    face = np.argwhere(share_of(drawn, TRACK)).mean(axis=0)
    # The chip at 30 degrees is up and to the right of the face, its label beside it.
    assert np.median(columns) > face[1]
    assert np.median(rows) < face[0]
    rows, columns = np.nonzero(share_of(drawn, DEPOSIT))
    assert np.median(columns) < face[1]
    assert np.median(rows) > face[0]


def test_the_annotated_picture_has_a_legend_beside_the_close_up(inspection: Inspection) -> None:
    drawn, alone = annotated(inspection), close_up(inspection)
    assert np.array_equal(drawn[:, : alone.shape[1]], alone)
    assert (drawn[:, alone.shape[1] :] == 255).mean() > 0.5


@pytest.mark.parametrize("kind", ["scratch", "score", "chip", "crack", "heat_check", "pit", "blister"])
def test_only_deposits_are_not_drawn_as_damage(kind: str) -> None:
    assert mark_colour(kind) == DAMAGE  # type: ignore[arg-type]
    assert mark_colour("deposit") == DEPOSIT


def test_the_strip_has_its_marks_at_their_degrees(inspection: Inspection) -> None:
    strip = strip_picture(inspection)
    assert strip is not None
    half = strip.shape[0] // 2
    # 1800 pixels a half turn, right of 170 pixels of paper.
    for colour, degrees, part in ((DAMAGE, 30, strip[:half]), (DEPOSIT, 215 - 180, strip[half:])):
        columns = np.nonzero(share_of(part, colour))[1]
        assert abs((columns.min() + columns.max()) / 2 - (170 + degrees * 10)) < 6
    assert not share_of(strip[:half], DEPOSIT).any()


@pytest.mark.parametrize(
    ("untouched", "runs"),
    [
        (slice(0, 0), [(0, 360)]),
        (slice(10, 20), [(100, 410)]),
        # Across three o'clock: one piece, not two.
        (slice(0, 6), [(30, 360)]),
    ],
)
def test_a_track_is_drawn_where_the_mate_touched(untouched: slice, runs: list[tuple[int, int]]) -> None:
    found = track_runs(a_track(untouched))
    assert [(round(degrees[0]), round(degrees[-1])) for degrees, _ in found] == runs
    assert track_runs(Track("none", 0.9)) == []


def test_each_mark_has_a_crop_with_the_mark_in_the_middle() -> None:
    view = View(face=0.3)
    plane = plane_of(view)
    inspection = an_inspection(view)
    x, y = np.rint(plane.polar_pixels(np.array([0.975]), np.array([30.0]))[0]).astype(int)
    inspection.picture[y - 3 : y + 4, x - 3 : x + 4] = (0, 255, 0)
    chip, deposit = crops(inspection)
    assert chip.shape == deposit.shape
    at = np.argwhere(share_of(chip, (0, 255, 0)))
    assert len(at)
    assert np.abs(at.mean(axis=0) - np.array(chip.shape[:2]) / 2).max() < 12
    assert not share_of(deposit, (0, 255, 0)).any()


def test_many_marks_do_not_spoil_the_drawing() -> None:
    marks = tuple(Mark("pit", 9.0 * n, 1.0, 0.9, 0.91, 0.01, 0.6) for n in range(40))
    inspection = an_inspection(marks=marks)
    assert annotated(inspection).shape[1] == 1900
    assert len(crops(inspection)) == 40


def test_a_picture_that_is_not_usable_is_shown_as_it_is() -> None:
    report = FaceReport(usable=False, reasons=["no_ring"], advice="Lay the face into the picture.")
    grey = np.full((300, 900, 3), 90, np.uint8)
    inspection = Inspection(report, grey, 1.0, RingFound(None, "no_ring", "nothing", 0.0))
    drawn = close_up(inspection)
    assert drawn.shape == (960, 1280, 3)
    assert (drawn[480, 100:1180] == 90).all()
    assert strip_picture(inspection) is None
    assert crops(inspection) == []
