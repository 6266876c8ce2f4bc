"""Bolt holes, balls, teeth and paint tell other rings from a seal face."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from capture.face.plane import FacePlane, plane_of_ellipse
from capture.face.ring_pattern import pattern_measures
from shared.photo import Ellipse

CENTRE, OUTER, BORE = (320, 240), 180, 120


def ring(colour: tuple[int, int, int] = (120, 120, 120)) -> NDArray[np.uint8]:
    """A flat ring under a lamp at one side, with a camera's noise."""
    picture = np.full((480, 640, 3), 60, np.float32)
    cv2.circle(picture, CENTRE, OUTER, colour, -1, cv2.LINE_AA)
    cv2.circle(picture, CENTRE, BORE, (30, 30, 30), -1, cv2.LINE_AA)
    light = 1 + 0.3 * (np.arange(640) - 320) / 320
    noise = np.random.default_rng(5).normal(0, 2, picture.shape)
    return np.asarray(np.clip(picture * light[None, :, None] + noise, 0, 255), np.uint8)


def around(picture: NDArray[np.uint8], times: int, radius: int, size: int, level: int) -> NDArray[np.uint8]:
    """Put round spots on a ring at even angles."""
    for angle in np.arange(times) * (2 * np.pi / times) + 0.3:
        at = (round(CENTRE[0] + radius * np.cos(angle)), round(CENTRE[1] + radius * np.sin(angle)))
        cv2.circle(picture, at, size, (level, level, level), -1, cv2.LINE_AA)
    return picture


def plane() -> FacePlane:
    outer = Ellipse(centre_px=CENTRE, major_px=2.0 * OUTER, minor_px=2.0 * OUTER, angle_deg=0.0)
    return plane_of_ellipse(outer, BORE / OUTER)


@pytest.mark.parametrize(
    ("times", "radius", "where"),
    [(4, 150, "face"), (13, 150, "face"), (6, 215, "beyond"), (9, 100, "within")],
)
def test_what_comes_again_at_even_angles_is_seen_where_it_is(times: int, radius: int, where: str) -> None:
    plain = pattern_measures(ring(), plane())
    spotted = pattern_measures(around(ring(), times, radius, 14, 220), plane())
    for band in ("face", "beyond", "within"):
        more = spotted[f"repeat_{band}"] - plain[f"repeat_{band}"]
        assert (more > 1.0) == (band == where), band


def test_chips_at_uneven_angles_are_no_pattern() -> None:
    picture = ring()
    for degrees in (10, 47, 161, 200, 318):
        angle = np.radians(degrees)
        at = (round(CENTRE[0] + 172 * np.cos(angle)), round(CENTRE[1] + 172 * np.sin(angle)))
        cv2.circle(picture, at, 8, (40, 40, 40), -1, cv2.LINE_AA)
    holes = pattern_measures(around(ring(), 5, 172, 8, 40), plane())
    assert pattern_measures(picture, plane())["repeat_share_face"] < 0.6 * holes["repeat_share_face"]


def test_paint_is_told_from_grey_ivory_and_black() -> None:
    painted = [pattern_measures(ring(one), plane()) for one in ((60, 160, 90), (150, 40, 150))]
    plain = [pattern_measures(ring(one), plane()) for one in ((120, 120, 120), (35, 36, 38), (195, 212, 220))]
    assert min(one["paint"] for one in painted) > max(one["paint"] for one in plain) + 0.5
