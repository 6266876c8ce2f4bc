"""The plane of the face: ellipses of its circles, the way to pixels and back, the unrolled strip."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from bench.face_pictures import as_seen
from capture.face.plane import FacePlane, ellipse_of_conic, plane_of_ellipse, upright
from capture.face.strip import unrolled
from shared.photo import Ellipse

#: Tilted, with perspective; centre near (640, 480), outer radius about 300 px.
TILTED = np.array([[300.0, 12.0, 640.0], [9.0, -240.0, 480.0], [0.02, 0.05, 1.0]])


def test_the_ellipse_of_a_circle_fits_its_projected_points() -> None:
    # Checked against the least-squares fit of OpenCV 5 (Fitzgibbon's direct method) to projected points.
    plane = FacePlane(TILTED, 0.75)
    degrees = np.arange(0.0, 360.0, 1.0)
    at = plane.polar_pixels(np.full(360, 0.75), degrees).astype(np.float32)
    (x, y), axes, _ = cv2.fitEllipseDirect(at)
    found = plane.inner
    assert found.centre_px == pytest.approx((x, y), abs=0.05)
    assert (found.major_px, found.minor_px) == pytest.approx((max(axes), min(axes)), abs=0.1)


def test_pixels_and_points_are_inverse() -> None:
    plane = FacePlane(TILTED, 0.75)
    there = np.array([[0.0, 0.0], [1.0, 0.0], [-0.3, 0.8]])
    assert plane.points(plane.pixels(there)) == pytest.approx(there, abs=1e-9)


def test_a_far_face_keeps_its_ellipse_and_three_o_clock_to_the_right() -> None:
    ellipse = Ellipse(centre_px=(400.0, 300.0), major_px=400.0, minor_px=320.0, angle_deg=30.0)
    plane = plane_of_ellipse(ellipse, 0.8)
    outer = plane.outer
    assert outer.centre_px == pytest.approx(ellipse.centre_px)
    assert (outer.major_px, outer.minor_px, outer.angle_deg) == pytest.approx((400.0, 320.0, 30.0))
    right, up = plane.pixels(np.array([[1.0, 0.0], [0.0, 1.0]]))
    assert right[0] > 550
    assert up[1] < 180


def test_upright_three_o_clock_is_seen_exactly_to_the_right() -> None:
    ellipse = Ellipse(centre_px=(400.0, 300.0), major_px=400.0, minor_px=320.0, angle_deg=30.0)
    slanted = plane_of_ellipse(ellipse, 0.8)
    for plane in (slanted, FacePlane(TILTED, 0.75)):
        seen = upright(plane)
        centre, right, up = seen.pixels(np.array([[0.0, 0.0], [0.2, 0.0], [0.0, 0.2]]))
        assert right[1] == pytest.approx(centre[1], abs=1e-6)
        assert right[0] > centre[0]
        assert up[1] < centre[1]
        assert seen.outer.major_px == pytest.approx(plane.outer.major_px)
        assert seen.outer.centre_px == pytest.approx(plane.outer.centre_px)
    # As the symmetric stretch has it, three o'clock lies some degrees aside.
    centre, right = slanted.pixels(np.array([[0.0, 0.0], [0.2, 0.0]]))
    assert abs(right[1] - centre[1]) > 0.08 * (right[0] - centre[0])


def test_truth_is_read_with_its_angles_from_three_o_clock_as_seen() -> None:
    ellipse = Ellipse(centre_px=(400.0, 300.0), major_px=400.0, minor_px=320.0, angle_deg=30.0)
    slanted = plane_of_ellipse(ellipse, 0.8)
    defect = {"kind": "chip", "angle_deg": 350.0}
    track = {"offset_direction_deg": 20.0}
    seen = as_seen({"plane_px": slanted.to_px.tolist(), "defects": [defect], "track": track})
    turn = (350.0 - seen["defects"][0]["angle_deg"] + 180) % 360 - 180
    assert abs(turn) > 2
    assert seen["track"]["offset_direction_deg"] == pytest.approx((20.0 - turn) % 360)
    before = slanted.polar_pixels(np.ones(1), np.array([350.0]))
    after = FacePlane(np.array(seen["plane_px"]), 0.8).polar_pixels(np.ones(1), np.array([350.0 - turn]))
    assert after == pytest.approx(before)


def test_what_is_no_ellipse_is_refused() -> None:
    with pytest.raises(ValueError, match="no ellipse"):
        ellipse_of_conic(np.diag([1.0, -1.0, -1.0]))


def test_a_mark_is_found_in_the_strip_at_its_angle_and_radius() -> None:
    plane = FacePlane(TILTED, 0.7)
    picture = np.zeros((960, 1280, 3), np.uint8)
    x, y = plane.polar_pixels(np.array([0.85]), np.array([118.0]))[0]
    cv2.circle(picture, (round(x), round(y)), 3, (255, 255, 255), -1)
    strip = unrolled(picture, plane)
    rows, columns = np.nonzero(strip.picture[:, :, 0] > 100)
    assert strip.degrees[columns].mean() == pytest.approx(118.0, abs=0.5)
    assert strip.radius(float(rows.mean())) == pytest.approx(0.85, abs=0.005)
    assert strip.radii[strip.face_rows][0] >= 0.7
    assert strip.radii[strip.face_rows][-1] <= 1.0
