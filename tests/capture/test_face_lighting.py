"""Light is taken out of an unrolled face; its own radial profile and its marks stay."""

from __future__ import annotations

import numpy as np
import pytest

from capture.face.lighting import LitStrip, lit
from capture.face.plane import FacePlane
from capture.face.strip import unrolled
from tests.capture.face_strips import Worn, paint


def columns_of(done: LitStrip) -> np.ndarray:
    face = done.strip.face_rows
    return np.ma.median(np.ma.masked_array(done.flat[face], done.hidden[face]), axis=0).filled(0)


def rows_of(done: LitStrip) -> np.ndarray:
    face = done.strip.face_rows
    return np.ma.median(np.ma.masked_array(done.flat[face], done.hidden[face]), axis=1).filled(0)


@pytest.mark.parametrize(
    "light",
    [
        lambda _, a: 1 + 0.6 * np.cos(a - 1),
        lambda h, a: 1 + 0.5 * np.cos(a - 1) + 0.2 * h * np.sin(a),
        lambda _, a: 1 - 0.15 * np.cos(2 * a) - 0.2 * np.cos(a),
        lambda _, a: np.where(np.abs(a - 2) < 0.5, 0.4, 1),
    ],
    ids=["lamp at one side", "near lamp", "dark corners", "shadow with an edge"],
)
def test_light_is_taken_out(light: object) -> None:
    strip = paint(light=light)
    done = lit(strip)
    assert done.judged_share == 1
    # Light of 60 to 150 per cent is gone but for 4 per cent, a few columns on the edge of a shadow apart.
    assert np.quantile(np.abs(columns_of(done)), 0.95) < 0.04


@pytest.mark.parametrize("contrast", [-0.3, -0.1, 0.2])
def test_what_goes_all_round_is_no_light(contrast: float) -> None:
    strip = paint(Worn(contrast=contrast), light=lambda _, a: 1 + 0.5 * np.cos(a - 1))
    rows, radii = rows_of(lit(strip)), strip.radii[strip.face_rows]
    on = np.median(rows[(radii > 0.85) & (radii < 0.92)])
    beside = np.median(rows[(radii < 0.83) | (radii > 0.94)])
    assert on - beside == pytest.approx(contrast, abs=0.1 * abs(contrast) + 0.01)


def test_a_scratch_across_the_face_stays() -> None:
    strip = paint()
    strip.picture[:, 700:706] //= 2
    scratched = columns_of(lit(strip))
    assert np.median(scratched[700:706]) < -1.0
    assert np.median(np.abs(scratched[720:760])) < 0.05


def test_glare_hides_with_its_halo_and_leaves_the_rest_flat() -> None:
    strip = paint(light=lambda h, a: 1 + 20 * np.exp(-((a - 2) ** 2 + 0.01 * h**2) / 0.02))
    done = lit(strip)
    clipped = strip.picture.min(axis=2) >= 250
    assert clipped.any()
    assert done.hidden[clipped].mean() > 0.99
    assert done.hidden.sum() > 1.2 * clipped.sum()
    assert 0.85 < done.judged_share < 0.97
    assert np.abs(columns_of(done)).max() < 0.25


def test_glints_and_small_dark_spots_are_not_hidden() -> None:
    strip = paint(texture=0.02)
    strip.picture[30:60, 400:402] = 255
    strip.picture[60:68, 900:910] = 2
    assert lit(strip).judged_share == 1


def test_deep_shadow_hides_and_a_dim_side_does_not() -> None:
    deep = lit(paint(light=lambda _, a: np.where(np.abs(a - 3) < 0.4, 0.02, 1)))
    assert deep.judged_share == pytest.approx(1 - 0.8 / (2 * np.pi), abs=0.02)
    dim = lit(paint(light=lambda _, a: np.where(np.abs(a - 3) < 0.4, 0.2, 1)))
    assert dim.judged_share == 1


def test_what_is_outside_the_picture_is_hidden() -> None:
    plane = FacePlane(np.array([[100.0, 0, 150], [0, -100, 60], [0, 0, 1]]), 0.7)
    picture = np.full((300, 300, 3), 90, np.uint8)
    strip = unrolled(picture, plane)
    assert strip.outside is not None
    done = lit(strip)
    up = round(strip.columns / 4)
    assert done.hidden[strip.face_rows][:, up].all()
    assert not done.hidden[strip.face_rows][:, 3 * up].any()
    assert 0.5 < done.judged_share < 1


def test_a_strip_of_one_colour_or_none_seen_is_no_trouble() -> None:
    strip = paint()
    for level in (0, 128, 255):
        strip.picture[:] = level
        done = lit(strip)
        assert np.isfinite(done.flat).all()
        assert done.judged_share == (1 if level == 128 else 0)


def test_a_brighter_exposure_leaves_the_face_as_it_is() -> None:
    dark, bright = lit(paint(Worn(), albedo=0.2)), lit(paint(Worn(), albedo=0.4))
    assert rows_of(dark) == pytest.approx(rows_of(bright), abs=0.03)
