"""Counting light bands in drawn pictures, whose surface is known exactly; sources stand beside the checks."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from capture.face.band_reading import OBSTACLES
from capture.face.face_form import FaceForm
from capture.face.flatness import count_bands
from capture.face.plane import FacePlane
from tests.capture.band_pictures import Surface, Taken, out_of_flat, taken


def near(bands: float) -> object:
    """Within a tenth of a band or of the departure, whichever is more."""
    return pytest.approx(bands, abs=max(0.1, 0.1 * bands))


@pytest.mark.parametrize(
    ("surface", "how"),
    [
        (Surface(dish=0.2), Taken()),
        (Surface(dish=1.0, saddle=0.8), Taken(perspective=True)),
        (Surface(dish=3.0, tilt=4.0), Taken(noise=12.0, quality=60)),
        (Surface(dish=6.0, tilt=2.0, bore=0.6), Taken(uneven=0.6)),
        (Surface(saddle=2.0, tilt=5.0, bore=0.9), Taken(radius_px=320.0)),
        (Surface(saddle=5.0, tilt=3.0), Taken(contrast=0.25)),
        (Surface(dish=4.5, tilt=0.0, saddle=0.5), Taken()),
        (Surface(dish=0.4, lobes=0.8, tilt=7.0), Taken()),
    ],
    ids=lambda each: ", ".join(f"{k} {v}" for k, v in vars(each).items() if v != getattr(type(each)(), k)),
)
@pytest.mark.long
def test_bands_out_of_flat(surface: Surface, how: Taken) -> None:
    picture, plane = taken(surface, surface.bore, how)
    reading = count_bands(picture, plane)
    assert reading.obstacle is None
    assert reading.bands == near(out_of_flat(surface, surface.bore))
    assert reading.uncertainty_bands is not None
    assert reading.uncertainty_bands < 0.25


def test_straight_parallel_even_bands_are_a_flat_face() -> None:
    # "Straight, parallel, equally spaced light bands indicate true flatness": a lapping firm's lesson, read.
    picture, plane = taken(Surface(tilt=8.0), 0.75)
    reading = count_bands(picture, plane)
    assert reading.bands == pytest.approx(0.0, abs=0.05)
    assert reading.across == pytest.approx(8.0, abs=0.1)
    assert reading.closed is False


def test_closed_bands_run_round_the_bore_and_are_counted_one_by_one() -> None:
    # N rings: N half waves; an open university course, 122103011, module 11, lecture 4, read.
    picture, plane = taken(Surface(dish=4.0, tilt=0.3, bore=0.6), 0.6)
    reading = count_bands(picture, plane)
    assert reading.closed is True
    assert reading.bands == near(4.0)
    assert reading.dish == near(4.0)


@pytest.mark.parametrize(
    ("obstacle", "surface", "how"),
    [
        ("no_bands", Surface(tilt=6.0), Taken(contrast=0.0)),
        ("too_few", Surface(tilt=1.2, dish=0.3), Taken()),
        ("hidden", Surface(tilt=6.0, dish=1.0), Taken(glare=80.0)),
        ("tool_marks", Surface(tilt=0.1, dish=8.0), Taken()),
    ],
)
@pytest.mark.long
def test_bands_that_cannot_be_counted(obstacle: str, surface: Surface, how: Taken) -> None:
    picture, plane = taken(surface, surface.bore, how)
    reading = count_bands(picture, plane)
    assert reading.obstacle == obstacle
    assert reading.bands is None
    assert reading.um is None
    assert reading.advice == OBSTACLES[reading.obstacle]


@pytest.mark.long
def test_bands_finer_than_the_picture_are_not_counted() -> None:
    picture, plane = taken(Surface(tilt=70.0), 0.75, Taken(radius_px=100.0))
    assert count_bands(picture, plane).obstacle is not None


@pytest.mark.long
def test_lapping_texture_in_white_light_is_no_band() -> None:
    random = np.random.default_rng(4)
    grain = cv2.GaussianBlur(random.normal(0, 60, (520, 520)), (0, 0), 2.0)
    picture = np.clip(120 + grain, 0, 255).astype(np.uint8)
    _, plane = taken(Surface(), 0.75)
    assert count_bands(np.dstack([picture] * 3), plane).obstacle == "no_bands"


@pytest.mark.parametrize(("wider", "bore"), [(1.06, 0.75), (0.9, 0.75), (1.0, 0.82), (1.0, 0.71)])
def test_bands_that_do_not_end_at_the_edges_given_are_not_counted(wider: float, bore: float) -> None:
    picture, plane = taken(Surface(dish=1.0), 0.75)
    wrong = FacePlane(plane.to_px @ np.diag([wider, wider, 1.0]), bore / wider)
    assert count_bands(picture, wrong).bands is None


def test_a_line_is_no_face() -> None:
    picture, plane = taken(Surface(dish=1.0), 0.75)
    assert count_bands(picture, FacePlane(plane.to_px, 0.99999)).obstacle == "edges"


def test_a_face_partly_out_of_the_picture_is_not_judged() -> None:
    picture, plane = taken(Surface(tilt=6.0), 0.75)
    assert count_bands(picture[:300], plane).obstacle == "out_of_picture"


@pytest.mark.long
def test_a_band_is_half_a_wave() -> None:
    picture, plane = taken(Surface(dish=1.0), 0.75)
    helium, sodium = count_bands(picture, plane), count_bands(picture, plane, 589.3)
    # U8: helium 587.56 nm, half a wave a band: 0.29378 um.
    assert helium.um == pytest.approx(0.29378 * helium.bands)
    assert sodium.um == pytest.approx(0.29465 * helium.bands)


def test_a_cylinder_is_dish_and_saddle() -> None:
    # x squared is half of r squared and half of r squared cos 2a; over a ring the saddle makes a whole.
    weights = np.zeros(15)
    weights[3], weights[4] = 0.5, 0.5
    form = FaceForm(weights, 0.5)
    assert form.out_of_flat == pytest.approx(1.0)
    assert form.dish == pytest.approx(0.5 * 0.75)
    assert form.saddle == pytest.approx(1.0)
