"""The flat face is found among the other circles of a part, or it is said why there is none."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from capture.face import ring
from capture.face.plane import FacePlane
from capture.face.ring import find_ring
from capture.face.ring_fit import fit_plane
from fixtures.drawn_rings import SEAT, Layer, Picture, View, drawn

pytestmark = pytest.mark.issue(5)

WIDE = View(width=960, height=720, centre=(470.0, 350.0), radius_px=180.0)


def assert_same(found: FacePlane | None, true: FacePlane) -> None:
    assert found is not None
    assert found.outer.major_px == pytest.approx(true.outer.major_px, rel=0.01)
    assert found.inner.major_px == pytest.approx(true.inner.major_px, rel=0.01)
    apart = np.subtract(found.outer.centre_px, true.outer.centre_px)
    assert np.hypot(*apart) < 0.005 * true.outer.major_px


@pytest.mark.parametrize(("tilt", "turn"), [(0.0, 0.0), (12.0, 40.0), (24.0, 130.0), (34.0, 80.0)])
def test_both_edges_are_found_among_shell_boot_step_and_track(tilt: float, turn: float) -> None:
    view = View(**{**vars_of(WIDE), "tilt_deg": tilt, "turn_deg": turn})
    found = find_ring(drawn(view))
    assert found.reason is None
    assert_same(found.plane, view.plane())


def test_a_partly_hidden_edge_is_followed_round() -> None:
    picture = drawn(WIDE)
    cv2.rectangle(picture, (600, 200), (760, 330), (40, 40, 40), -1)
    assert_same(find_ring(picture).plane, WIDE.plane())


def test_the_fit_takes_perspective_out() -> None:
    view = View(tilt_deg=35.0, distance=4.0)
    plane = view.plane()
    degrees = np.arange(0.0, 360.0, 3.0)
    outer = plane.polar_pixels(np.ones(120), degrees)
    inner = plane.polar_pixels(np.full(120, plane.bore), degrees)
    start = View(tilt_deg=30.0, distance=50.0, centre=(322.0, 238.0)).plane(bore=0.7)
    fitted = fit_plane(start, outer, inner)
    assert fitted.bore == pytest.approx(plane.bore, abs=1e-3)
    apart = fitted.points(plane.pixels(np.zeros((1, 2))))
    assert np.hypot(*apart[0]) < 2e-3
    centres = np.subtract(fitted.outer.centre_px, fitted.inner.centre_px)
    assert np.hypot(*centres) > 1.0


def test_a_ring_cut_off_by_the_border_is_said_to_be() -> None:
    found = find_ring(drawn(View(**{**vars_of(WIDE), "centre": (860.0, 350.0)})))
    assert (found.plane, found.reason) == (None, "ring_out_of_frame")


def test_two_faces_are_said_to_be_two() -> None:
    left = View(**{**vars_of(WIDE), "centre": (250.0, 360.0), "radius_px": 130.0})
    right = View(**{**vars_of(WIDE), "centre": (720.0, 360.0), "radius_px": 130.0, "seed": 3})
    found = find_ring(drawn(right, under=drawn(left)))
    assert (found.plane, found.reason) == (None, "two_rings")


def test_a_coin_beside_a_face_is_no_second_face() -> None:
    view = View(**{**vars_of(WIDE), "centre": (300.0, 360.0), "radius_px": 150.0})
    picture = drawn(view)
    cv2.circle(picture, (740, 360), 120, (60, 110, 150), -1, cv2.LINE_AA)
    cv2.circle(picture, (740, 360), 112, (50, 90, 130), 4, cv2.LINE_AA)
    assert_same(find_ring(picture).plane, view.plane())


def test_a_fit_that_turns_a_ring_inside_out_is_not_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ring, "look_closer", lambda *_: None)
    monkeypatch.setattr(ring, "refine", lambda _, rough, __: FacePlane(rough.to_px, 1.05))
    plane = find_ring(drawn(WIDE)).plane
    assert plane is not None
    assert plane.bore < 1.0


def text_page() -> Picture:
    page = np.full((720, 960, 3), 235, np.uint8)
    for line in range(22):
        cv2.putText(
            page, "torque the gland nuts evenly, 12 ft lb", (30, 40 + 30 * line), 0, 0.8, (30, 30, 30), 2
        )
    return page


def noise() -> Picture:
    chance = np.random.default_rng(4)
    return np.asarray(np.clip(chance.normal(120, 30, (480, 640, 3)), 0, 255), np.uint8)


@pytest.mark.parametrize(
    "picture",
    [
        np.zeros((1, 1, 3), np.uint8), np.zeros((480, 640, 3), np.uint8),
        np.full((480, 640, 3), 255, np.uint8),
        np.zeros((3000, 20, 3), np.uint8), text_page(), noise(), drawn(View(), ()),
    ],
    ids=["1x1", "black", "white", "sliver", "text", "noise", "bench"],
)  # fmt: skip
def test_a_picture_without_a_ring_has_none(picture: Picture) -> None:
    found = find_ring(picture)
    assert (found.plane, found.reason) == (None, "no_ring")
    assert found.what


def test_the_edges_of_a_track_are_not_taken_for_the_face() -> None:
    layers = (
        *SEAT[:4], Layer(0.95, 120, gloss=0.15), Layer(0.82, 150, gloss=0.15), *SEAT[6:],
    )  # fmt: skip
    assert_same(find_ring(drawn(WIDE, layers)).plane, WIDE.plane())


def vars_of(view: View) -> dict[str, object]:
    return {name: getattr(view, name) for name in View.__dataclass_fields__}
