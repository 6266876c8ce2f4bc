"""A picture in, a face report out: scale, bounds, and what is no seal face."""

from __future__ import annotations

import math

import cv2
import numpy as np
import pytest

from capture.face import inspect_face
from capture.face.inspection import MOST_SIDE_PX, inspect_picture
from shared.errors import DiameterInvalid, PictureUnreadable
from shared.photo import FaceReport
from tests.capture.drawn_faces import View, coded, light_of, plane_of, textured

VIEW = View(outer_mm=22.0, inner_mm=17.0)
MARKED = View(outer_mm=22.0, inner_mm=17.0, markers=((44.0, 14.0, 20.0),))


def picture_of(view: View) -> np.ndarray:
    return coded(textured(light_of(view)))


@pytest.fixture(scope="module")
def plain() -> np.ndarray:
    return picture_of(VIEW)


@pytest.fixture(scope="module")
def scaled(plain: np.ndarray) -> FaceReport:
    return inspect_face(plain, 44.0)


def test_a_face_is_measured_where_it_lies(scaled: FaceReport) -> None:
    truth = plane_of(VIEW)
    assert scaled.usable
    assert scaled.reasons == []
    assert scaled.outer is not None
    assert scaled.inner is not None
    for found, true in ((scaled.outer, truth.outer), (scaled.inner, truth.inner)):
        assert found.major_px == pytest.approx(true.major_px, rel=0.01)
        assert math.dist(found.centre_px, true.centre_px) < 0.01 * true.major_px
    assert scaled.track is not None
    assert 0.8 < scaled.track.judged_share <= 1


def test_the_diameter_of_the_sheet_is_the_scale(scaled: FaceReport) -> None:
    assert scaled.scale_from == "sheet"
    assert scaled.outer_diameter_mm == 44.0
    assert scaled.inner_diameter_mm == pytest.approx(34.0, rel=0.015)
    assert scaled.outer is not None
    assert scaled.px_per_mm == pytest.approx(scaled.outer.major_px / 44.0, rel=1e-5)


def test_a_marker_goes_before_the_argument() -> None:
    report = inspect_face(picture_of(MARKED), 90.0)
    assert report.scale_from == "marker"
    assert report.outer_diameter_mm == pytest.approx(44.0, rel=0.015)


def test_without_a_scale_no_length_is_given(plain: np.ndarray, scaled: FaceReport) -> None:
    report = inspect_face(plain)
    assert report.scale_from == "none"
    assert (report.px_per_mm, report.outer_diameter_mm, report.inner_diameter_mm) == (None, None, None)
    assert report.outer == scaled.outer
    assert report.track is not None
    lengths = report.track.model_dump(
        include={n for n in type(report.track).model_fields if n.endswith("_mm")}
    )
    assert set(lengths.values()) == {None}


def test_a_large_picture_is_measured_in_its_own_pixels(plain: np.ndarray, scaled: FaceReport) -> None:
    large = cv2.resize(plain, None, fx=4.0, fy=4.0, interpolation=cv2.INTER_CUBIC)
    inspection = inspect_picture(large, 44.0)
    assert max(inspection.picture.shape[:2]) == MOST_SIDE_PX
    outer = inspection.report.outer
    assert outer is not None
    assert scaled.outer is not None
    assert outer.major_px == pytest.approx(4 * scaled.outer.major_px, rel=0.01)
    # The middle of a pixel is at its whole number.
    for found, small in zip(outer.centre_px, scaled.outer.centre_px, strict=True):
        assert found == pytest.approx(4 * (small + 0.5) - 0.5, abs=12)


def blank(height: int, width: int, level: int = 120) -> np.ndarray:
    return np.full((height, width, 3), level, np.uint8)


def page_of_text() -> np.ndarray:
    page = blank(960, 1280, 245)
    for row in range(14):
        cv2.putText(page, "front clearance 0.018 in", (60, 80 + 62 * row), 0, 1.1, (20, 20, 20), 2)
    return page


@pytest.mark.parametrize(
    "picture",
    [
        blank(1, 1), blank(3, 4000), blank(31, 31), blank(960, 1280), blank(960, 1280, 0),
        blank(960, 1280, 255), page_of_text(),
        np.random.default_rng(3).integers(0, 256, (480, 640, 3)).astype(np.uint8),
    ],
    ids=["1x1", "a line", "tiny", "grey", "black", "white", "text", "noise"],
)  # fmt: skip
def test_what_shows_no_face_is_not_judged(picture: np.ndarray) -> None:
    report = inspect_face(picture, 44.5)
    assert not report.usable
    assert report.reasons
    assert report.advice
    assert report == FaceReport(usable=False, reasons=report.reasons, advice=report.advice)


@pytest.mark.parametrize("diameter", [0, -44.5, math.nan, math.inf, -math.inf])
def test_a_diameter_that_is_none_is_refused(diameter: float) -> None:
    with pytest.raises(DiameterInvalid, match="no face has an outside diameter") as caught:
        inspect_face(blank(480, 640), diameter)
    assert isinstance(caught.value, ValueError)


@pytest.mark.parametrize(
    "array",
    [
        np.zeros((48, 64), np.uint8), np.zeros((48, 64, 4), np.uint8), np.zeros((48, 64, 3), np.float32),
        np.zeros((0, 64, 3), np.uint8),
    ],
    ids=["grey", "see-through", "floats", "empty"],
)  # fmt: skip
def test_an_array_that_is_no_picture_is_refused(array: np.ndarray) -> None:
    with pytest.raises(PictureUnreadable, match="expected shape"):
        inspect_face(array)


def test_the_same_picture_gives_the_same_report(plain: np.ndarray, scaled: FaceReport) -> None:
    assert inspect_face(plain.copy(), 44.0).model_dump_json() == scaled.model_dump_json()
