"""The edge of the face itself beside the side of the ring and beside the edge of a wear track."""

from __future__ import annotations

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from capture.face.plane import plane_of_ellipse
from capture.face.ring_bevel import within_bevels
from shared.photo import Ellipse

CENTRE = (400, 300)


def disc(picture: NDArray[np.float32], radius: float, level: float, shift: tuple[int, int] = (0, 0)) -> None:
    at = tuple(round(16 * (c + s)) for c, s in zip(CENTRE, shift, strict=True))
    cv2.circle(picture, at, round(16 * radius), level, -1, cv2.LINE_AA, 4)  # type: ignore[call-overload]


def seen(picture: NDArray[np.float32]) -> NDArray[np.uint8]:
    noise = np.random.default_rng(3).normal(0, 2, picture.shape)
    grey = np.clip(cv2.GaussianBlur(picture, (0, 0), 0.9) + noise, 0, 255).astype(np.uint8)
    return np.asarray(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR), np.uint8)


def circle(radius: float, shift: tuple[float, float] = (0, 0)) -> Ellipse:
    x, y = CENTRE[0] + shift[0], CENTRE[1] + shift[1]
    return Ellipse(centre_px=(x, y), major_px=2 * radius, minor_px=2 * radius, angle_deg=0.0)


def test_the_side_of_the_ring_is_not_taken_for_the_face() -> None:
    picture = np.full((600, 800), 30, np.float32)
    disc(picture, 203, 120, (3, 0))
    disc(picture, 200, 150)
    disc(picture, 150, 20)
    drawn = within_bevels(seen(picture), plane_of_ellipse(circle(203, (3, 0)), 150 / 203))
    assert drawn.outer.major_px == pytest.approx(400, abs=1.5)
    assert drawn.outer.centre_px == pytest.approx(CENTRE, abs=0.7)
    assert drawn.inner.major_px == pytest.approx(300, abs=1.5)


def test_the_edge_of_a_wear_track_beside_the_edge_is_not_taken_for_it() -> None:
    picture = np.full((600, 800), 30, np.float32)
    disc(picture, 200, 150)
    disc(picture, 194, 120)
    disc(picture, 165, 150)
    disc(picture, 150, 20)
    plane = plane_of_ellipse(circle(200), 150 / 200)
    assert within_bevels(seen(picture), plane).outer.major_px == pytest.approx(400, abs=1.0)


def test_a_face_with_plain_edges_stays_as_it_was_found() -> None:
    picture = np.full((600, 800), 30, np.float32)
    disc(picture, 200, 150)
    disc(picture, 150, 20)
    plane = plane_of_ellipse(circle(200), 150 / 200)
    assert within_bevels(seen(picture), plane) is plane
