"""The second look at a ring: edges a few pixels apart are kept apart, and the face's own are chosen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from capture.face import inspect_face, inspection
from capture.face.plane import FacePlane, plane_of_ellipse
from capture.face.ring import find_ring
from capture.face.ring_closer import fine_place, look_closer
from capture.face.ring_disc import disc_rows
from shared.face_words import verdict_words
from shared.photo import Ellipse

FACES = Path(__file__).parents[2] / "fixtures" / "faces"
CENTRE = (400.0, 300.0)
FACE, BORE, BEVEL = 200.0, 140.0, 204.5


def circle(picture: NDArray[np.float32], radius: float, level: float, shift: float = 0.0) -> None:
    at = (round(16 * (CENTRE[0] + shift)), round(16 * CENTRE[1]))
    cv2.circle(picture, at, round(16 * radius), level, -1, cv2.LINE_AA, 4)  # type: ignore[call-overload]


def bevelled() -> NDArray[np.uint8]:
    """A face with a bevel of 2 % round it, lit from the right, on a dark body that reaches farther."""
    picture = np.full((600, 800), 70, np.float32)
    circle(picture, 250, 45, 6)
    bevel = np.zeros_like(picture)
    circle(bevel, BEVEL, 1, 1.5)
    y, x = np.mgrid[:600, :800]
    swing = 120 + 55 * np.cos(np.arctan2(y - CENTRE[1], x - CENTRE[0]))
    picture = np.asarray(np.where(bevel > 0.5, swing, picture), np.float32)
    circle(picture, FACE, 150)
    circle(picture, BORE, 100, 1.0)
    circle(picture, BORE - 4, 25, 2.0)
    noise = np.random.default_rng(3).normal(0, 2, picture.shape)
    grey = np.clip(cv2.GaussianBlur(picture, (0, 0), 0.9) + noise, 0, 255).astype(np.uint8)
    return np.asarray(cv2.cvtColor(grey, cv2.COLOR_GRAY2BGR), np.uint8)


def plane(outer: float, inner: float, shift: float = 0.0) -> FacePlane:
    ellipse = Ellipse(
        centre_px=(CENTRE[0] + shift, CENTRE[1]), major_px=2 * outer, minor_px=2 * outer, angle_deg=0.0
    )
    return plane_of_ellipse(ellipse, inner / outer)


def test_both_edges_of_a_narrow_bevel_are_seen_from_either() -> None:
    rough = plane(BEVEL, BORE - 4, 1.5)
    place = fine_place(bevelled(), rough, 1.1)
    radii = np.array([edge.curve.size for edge in place.edges]) * BEVEL / disc_rows(rough, 1.1)
    for wanted in (FACE, BEVEL, BORE, BORE - 4):
        assert np.abs(radii - wanted).min() < 0.7, wanted


@pytest.mark.parametrize("outer", [BEVEL, FACE, 250.0])
def test_the_face_is_chosen_whichever_ring_was_found_first(outer: float) -> None:
    closer = look_closer(bevelled(), plane(outer, BORE - 4, 1.5), 1.1)
    assert closer is not None
    assert closer.plane.outer.major_px == pytest.approx(2 * FACE, rel=0.005)
    assert closer.plane.inner.major_px == pytest.approx(2 * BORE, rel=0.005)
    assert closer.plane.outer.centre_px == pytest.approx(CENTRE, abs=0.7)


def test_a_ring_that_may_be_another_is_told_in_the_report(monkeypatch: pytest.MonkeyPatch) -> None:
    picture = np.asarray(cv2.imread(str(FACES / "0003.jpg")), np.uint8)
    sure = find_ring(picture)
    assert sure.sure
    assert inspect_face(picture).advice == ""
    monkeypatch.setattr(inspection, "find_ring", lambda _: replace(sure, trust=0.4))
    doubted = inspect_face(picture)
    assert doubted.usable
    assert "before any length is used" in doubted.advice
    assert verdict_words(doubted) == "usable, edges not sure"


def test_less_share_of_the_belief_is_less_trust() -> None:
    closer = look_closer(bevelled(), plane(BEVEL, BORE - 4, 1.5), 1.1)
    assert closer is not None
    torn = replace(closer, choice=replace(closer.choice, share=0.4))
    assert torn.trust < 0.5 < closer.trust


def test_where_nothing_is_seen_no_face_is_chosen() -> None:
    blank = np.full((600, 800, 3), 90, np.uint8)
    assert look_closer(blank, plane(FACE, BORE), 1.1) is None
