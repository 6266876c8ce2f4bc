"""Marks on painted faces: each family found where it is, and nothing on a clean face."""

from __future__ import annotations

import numpy as np
import pytest

from capture.face.defects import find_defects
from capture.face.ground import ground_of
from capture.face.heat_checks import heat_checks_of
from capture.face.lighting import lit
from capture.face.mark import Mark
from capture.face.mark_belief import term
from capture.face.parts import Part
from capture.face.plane import FacePlane
from capture.face.scores import put_together
from capture.face.strip import unrolled
from tests.capture.face_painter import PaintedFace


def found(face: PaintedFace, error: float = 0.0) -> list[Mark]:
    plane = face.plane()
    wrong = FacePlane(plane.to_px @ np.diag([1 + error, 1 + error, 1.0]), plane.bore)
    return find_defects(lit(unrolled(face.paint(), wrong)), None)


def off(mark: Mark, degrees: float) -> float:
    return abs((mark.angle_deg - degrees + 180) % 360 - 180)


@pytest.mark.parametrize("error", [-0.004, 0.0, 0.004])
@pytest.mark.parametrize("lay", [0.5, 4.0])
def test_a_clean_face_has_no_mark(error: float, lay: float) -> None:
    assert found(PaintedFace(lay=lay, light=0.4), error) == []


def test_a_track_off_the_middle_is_no_score() -> None:
    assert found(PaintedFace(track=(0.75, 0.93), track_gain=0.75, track_offset=0.03)) == []


@pytest.mark.parametrize(("gain", "light"), [(0.6, 0.0), (1.6, 0.5)])
def test_scratches_light_and_dark_across_three_o_clock(gain: float, light: float) -> None:
    face = PaintedFace(light=light)
    face.stroke((0.72, 358.0), (0.95, 2.0), 1.4, gain)
    face.stroke((0.8, 130.0), (0.86, 137.0), 1.4, gain)
    marks = found(face)
    assert [mark.kind for mark in marks] == ["scratch", "scratch"]
    assert {min(off(mark, 0.0), off(mark, 133.5)) < 1 for mark in marks} == {True}


def test_a_groove_is_one_score_with_its_arc() -> None:
    face = PaintedFace()
    face.groove(0.86, 100, 170, 1.6, 0.7)
    (mark,) = found(face)
    assert mark.kind == "score"
    assert off(mark, 135) < 3
    assert mark.arc_deg == pytest.approx(70, abs=8)
    assert mark.r_in < 0.86 < mark.r_out


def test_a_groove_all_round_is_a_score() -> None:
    face = PaintedFace()
    face.groove(0.74, 0, 360, 1.6, 0.75)
    (mark,) = found(face)
    assert (mark.kind, mark.arc_deg) == ("score", 360)


@pytest.mark.parametrize("outer", [True, False])
@pytest.mark.parametrize("error", [-0.004, 0.0, 0.004])
def test_a_broken_edge_is_a_chip(outer: bool, error: float) -> None:
    face = PaintedFace()
    face.notch(220, 6, 0.04, outer)
    (mark,) = found(face, error)
    assert mark.kind == "chip"
    assert off(mark, 220) < 1
    assert (mark.r_out > 0.98) is outer


def test_a_jagged_dark_line_from_edge_to_edge_is_a_crack() -> None:
    face = PaintedFace()
    face.stroke((0.685, 292), (0.995, 298), 1.6, 0.4, jagged=0.006)
    (mark,) = found(face)
    assert mark.kind == "crack"
    assert off(mark, 295) < 3


def test_many_fine_lines_side_by_side_are_heat_checks() -> None:
    face = PaintedFace()
    for number in range(9):
        face.stroke((0.74, 40 + 3.5 * number), (0.94, 40.5 + 3.5 * number), 1.3, 0.6)
    (mark,) = found(face)
    assert mark.kind == "heat_check"
    assert off(mark, 54) < 2
    assert mark.arc_deg == pytest.approx(29, abs=4)


def test_checks_that_go_on_beside_a_network_belong_to_it_and_a_scratch_far_away_does_not() -> None:
    face = PaintedFace()
    for degrees in (40.0, 43.5, 47.0, 50.5, 54.0, 57.5, 79.0, 83.0):
        face.stroke((0.74, degrees), (0.94, degrees + 0.5), 1.3, 0.6)
    face.stroke((0.74, 150.0), (0.94, 151.0), 1.3, 0.6)
    checks, scratch = found(face)
    assert (checks.kind, scratch.kind) == ("heat_check", "scratch")
    assert off(checks, 61.5) < 2
    assert checks.arc_deg == pytest.approx(44, abs=4)


def part(degrees: float, arc: float, direction: float, bend: float) -> Part:
    pixels = np.arange(8)
    return Part(
        rows=pixels, columns=pixels, strength=2.0, angle_deg=degrees, arc_deg=arc, r_in=0.76, r_out=0.92,
        length=0.16, width=0.02, direction_deg=direction, bend=bend, light=0.0, contrast=-0.3,
    )  # fmt: skip


@pytest.mark.parametrize(("bend", "kinds"), [(0.1, ["heat_check"]), (0.01, [])])
def test_a_part_that_bends_along_the_face_is_checks_that_run_together(bend: float, kinds: list[str]) -> None:
    upright = [part(degrees, 1.0, 5.0, 0.02) for degrees in (352.0, 356.0, 1.0)]
    joined = part(11.0, 12.0, 80.0, bend)
    marks, left = heat_checks_of([*upright, joined])
    assert [mark.kind for mark in marks] == kinds
    assert left == ([] if kinds else [*upright, joined])
    assert all(off(mark, 4.25) < 0.01 and mark.arc_deg == pytest.approx(25.5) for mark in marks)


def test_four_scratches_side_by_side_are_no_network() -> None:
    face = PaintedFace()
    for degrees in (40.0, 48.0, 56.0, 64.0):
        face.stroke((0.74, degrees), (0.94, degrees + 0.5), 1.3, 0.6)
    assert [mark.kind for mark in found(face)] == ["scratch"] * 4


def test_a_small_dark_spot_is_a_pit_and_a_coloured_patch_a_deposit() -> None:
    face = PaintedFace()
    face.spot(0.82, 60, 0.015, 0.35)
    face.spot(0.84, 200, 0.05, 0.8, (0.7, 0.95, 1.15))
    pit, patch = found(face)
    assert (pit.kind, patch.kind) == ("pit", "deposit")
    assert off(pit, 60) < 1
    assert off(patch, 200) < 1.5


def test_a_broad_patch_of_colour_is_one_deposit_and_its_streaks_are_no_damage() -> None:
    face = PaintedFace()
    for radius, degrees in ((0.82, 118), (0.84, 124), (0.83, 130), (0.85, 136)):
        face.spot(radius, degrees, 0.07, 0.9, (0.6, 0.95, 1.2))
    (mark,) = found(face)
    assert mark.kind == "deposit"
    assert off(mark, 127) < 2


def test_a_black_hole_is_no_shadow_and_no_deposit() -> None:
    face = PaintedFace()
    face.spot(0.84, 150, 0.07, 0.02)
    (hole,) = found(face)
    assert hole.kind == "pit"
    assert off(hole, 150) < 1


def test_what_lies_beside_a_broad_deposit_is_not_darkened_by_it() -> None:
    face = PaintedFace()
    for radius in (0.8, 0.86, 0.9):
        for degrees in (196, 200, 204):
            face.spot(radius, degrees, 0.06, 1.5, (0.8, 1.0, 1.1))
    (mark,) = found(face)
    assert mark.kind == "deposit"
    assert off(mark, 200) < 2


def test_pieces_of_a_score_are_one_and_those_apart_are_not() -> None:
    ground = ground_of(lit(unrolled(PaintedFace().paint(), PaintedFace().plane())))
    long = Mark("score", 100.0, 60.0, 0.80, 0.81, 0.8, 0.9)
    behind = Mark("score", 140.0, 16.0, 0.80, 0.81, 0.2, 0.7)
    apart = Mark("score", 100.0, 40.0, 0.88, 0.89, 0.6, 0.8)
    one, other = put_together([behind, apart, long], ground)
    assert (one.angle_deg, one.arc_deg) == pytest.approx((109.0, 78.0))
    assert other == apart


def test_a_term_is_a_measure_a_product_of_two_or_one() -> None:
    measures = {"edge": 0.5, "width": 3.0}
    assert [term(name, measures) for name in ("width", "edge*width", "constant")] == [3.0, 1.5, 1.0]


def test_specks_of_dust_are_no_marks() -> None:
    face = PaintedFace()
    for degrees in (20, 75, 140, 200, 290):
        face.spot(0.8 + degrees / 3000, degrees, 0.003, 0.6)
    assert found(face) == []


def test_a_report_has_millimetres_only_with_a_scale() -> None:
    mark = Mark("scratch", 10.0, 2.0, 0.8, 0.9, 0.1, 0.7)
    with_scale, without = mark.report(20.0), mark.report(None)
    assert (with_scale.r_in_mm, with_scale.r_out_mm, with_scale.size_mm) == pytest.approx((16.0, 18.0, 2.0))
    assert (without.r_in_mm, without.r_out_mm, without.size_mm) == (None, None, None)
