"""Focus and exposure of pictures: what a reviewer can use, and what to do about the rest."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from capture.picture_quality import judge_picture, sharpness
from tests.capture.pictures import FIXTURES, draw_part, moved, out_of_focus, with_noise

DRAWN = {f"drawn-{seed}": draw_part(seed) for seed in (1, 2)}
SHARP = {path.stem: path for path in sorted(FIXTURES.glob("*.jpg")) if "exposed" not in path.stem}
SHARP = {name: path for name, path in SHARP.items() if "focus" not in name}


def picture_named(name: str) -> np.ndarray:
    return DRAWN[name] if name in DRAWN else cv2.imread(str(SHARP[name]))


every_sharp_one = pytest.mark.parametrize("name", [*DRAWN, *SHARP])


@every_sharp_one
def test_a_sharp_picture_is_usable(name: str) -> None:
    picture = picture_named(name)
    quality = judge_picture(picture)
    assert (quality.usable, quality.reasons, quality.advice) == (True, [], "")
    assert judge_picture(with_noise(picture, 8)).usable
    assert judge_picture(picture // 4).usable  # dim, yet all there


@every_sharp_one
@pytest.mark.parametrize("noise", [0, 15])
def test_a_picture_out_of_focus_is_seen_through_noise(name: str, noise: int) -> None:
    quality = judge_picture(with_noise(out_of_focus(picture_named(name), 6), noise))
    assert quality.reasons == ["out_of_focus"]
    assert "focus" in quality.advice


@every_sharp_one
def test_movement_is_told_from_bad_focus(name: str) -> None:
    quality = judge_picture(moved(picture_named(name), 33))
    assert quality.reasons == ["motion_blur"]
    assert "rest the camera" in quality.advice


@every_sharp_one
def test_movement_in_any_direction_makes_it_unusable(name: str) -> None:
    assert not judge_picture(moved(picture_named(name), 33, diagonal=True)).usable


@pytest.mark.parametrize(
    ("gain", "offset", "reason"),
    [
        (0.04, 0, "under_exposed"),
        (0.0, 0, "under_exposed"),
        (1.0, 220, "over_exposed"),
        (0.0, 255, "over_exposed"),
    ],
)
def test_exposure_is_judged(gain: float, offset: float, reason: str) -> None:
    picture = np.clip(draw_part() * gain + offset, 0, 255).astype(np.uint8)
    assert judge_picture(picture).reasons == [reason]


@pytest.mark.parametrize(
    ("name", "reasons"),
    [
        ("seat_out_of_focus", ["out_of_focus"]),
        ("carbon_under_exposed", ["under_exposed"]),
        ("shaft_sleeve_over_exposed", ["over_exposed"]),
        ("wash-water-end-suction/casing_as_left", ["out_of_focus"]),
        ("wash-water-end-suction/img_0032", ["over_exposed"]),
        ("wash-water-end-suction/img_0031", []),
    ],
)
def test_pictures_spoilt_on_purpose_are_found(name: str, reasons: list[str]) -> None:
    path = FIXTURES / f"{name}.jpg"
    assert judge_picture(cv2.imread(str(path))).reasons == reasons


def test_a_part_lit_on_black_cloth_is_not_too_dark() -> None:
    picture = np.zeros((960, 1280, 3), np.uint8)
    part = draw_part()[260:700, 420:860]
    picture[260:700, 420:860] = np.clip(part * 1.5, 0, 255)
    quality = judge_picture(picture)
    assert quality.dark_share > 0.5
    assert quality.usable


def test_a_tiny_picture_is_too_small() -> None:
    assert "too_small" in judge_picture(cv2.resize(draw_part(), (160, 120))).reasons


@pytest.mark.parametrize("shape", [(1, 1), (1, 5000), (5000, 1), (960, 1280)])
def test_an_empty_scene_of_any_shape_is_judged_without_failing(shape: tuple[int, int]) -> None:
    assert not judge_picture(np.full((*shape, 3), 128, np.uint8)).usable


def test_shares_count_dark_and_bright_pixels() -> None:
    picture = np.full((480, 640, 3), 128, np.uint8)
    picture[:120] = 8
    picture[120:168] = 250
    quality = judge_picture(picture)
    assert (quality.dark_share, quality.bright_share) == pytest.approx((0.25, 0.1))


def test_sharpness_is_the_variance_of_the_laplacian() -> None:
    """Checkerboard by hand: all four neighbours differ by 2, so the Laplacian is 8 or -8."""
    board = 100 + 2 * (np.indices((480, 640)).sum(axis=0) % 2)
    picture = np.repeat(board[..., None], 3, axis=2).astype(np.uint8)
    assert sharpness(picture) == pytest.approx(64.0, rel=0.02)


def test_sharpness_orders_a_burst() -> None:
    values = [sharpness(out_of_focus(draw_part(), sigma)) for sigma in (0.5, 1, 2, 4)]
    assert values == sorted(values, reverse=True)
