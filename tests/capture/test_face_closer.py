"""The second look at a ring: edges a few pixels apart are kept apart, and the face's own are chosen."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from capture.face import inspect_face, inspection, ring, ring_choice
from capture.face.plane import FacePlane, plane_of_ellipse
from capture.face.ring import find_ring
from capture.face.ring_choice import Choice
from capture.face.ring_closer import fine_place, look_closer
from capture.face.ring_curves import Edge
from capture.face.ring_disc import disc_rows
from capture.face.ring_frame import Curve
from capture.face.ring_pairs import Pairs
from fixtures.face_sketches import trouble
from fixtures.face_sketches.__main__ import stranger
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
    assert verdict_words(doubted) == "usable, with a doubt"
    rival = replace(sure, trust=0.4, rival=(1.023, 0.999))
    monkeypatch.setattr(inspection, "find_ring", lambda _: rival)
    assert "It may be the face with the outer diameter 2.3% larger. Compare" in inspect_face(picture).advice


def test_a_ring_that_may_be_no_seal_face_is_told_in_the_report(monkeypatch: pytest.MonkeyPatch) -> None:
    picture = np.asarray(cv2.imread(str(FACES / "0003.jpg")), np.uint8)
    found = find_ring(picture)
    assert found.is_face
    monkeypatch.setattr(inspection, "find_ring", lambda _: replace(found, face=0.3))
    assert inspect_face(picture).advice.startswith("Not sure that this is a seal face:")


def test_whether_it_is_a_face_is_told_by_both_looks_and_the_pattern(monkeypatch: pytest.MonkeyPatch) -> None:
    closer = look_closer(bevelled(), plane(BEVEL, BORE - 4, 1.5), 1.1)
    assert closer is not None
    first = closer.choice
    odds = np.log(first.face / (1 - first.face))
    weighed = {"first_odds": 0.5, "closer_width": 2.0, "repeat_face": -1.0, "constant": 0.25}
    monkeypatch.setattr(ring_choice, "looks_weights", lambda: weighed)
    for repeats in (-3.0, 0.0):
        chance = ring_choice.face_by_all(first, closer.choice, {"repeat_face": repeats})
        wanted = 0.5 * odds + 2.0 * closer.choice.measures["width"] - repeats + 0.25
        assert np.log(chance / (1 - chance)) == pytest.approx(wanted, rel=1e-3)


@pytest.mark.parametrize("kind", [9, 15, 16])
def test_a_gear_an_o_ring_and_a_nut_are_no_seal_face(kind: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trouble, "SIZES", ((640, 480),))
    ((_, shot),) = stranger(5, 20 + kind)[0]
    assert find_ring(shot.picture).reason == "no_ring"


def test_a_face_that_glare_hides_is_told_to_be_hidden_and_no_washer() -> None:
    picture = np.asarray(cv2.imread(str(FACES / "0053.jpg")), np.uint8)
    found = find_ring(picture)
    assert found.reason == "no_ring"
    assert found.refused is not None
    assert inspect_face(picture).reasons == ["glare"]


def test_less_share_of_the_belief_is_less_trust() -> None:
    closer = look_closer(bevelled(), plane(BEVEL, BORE - 4, 1.5), 1.1)
    assert closer is not None
    torn = replace(closer, choice=replace(closer.choice, share=0.4))
    assert torn.trust < 0.5 < closer.trust


def test_where_nothing_is_seen_no_face_is_chosen() -> None:
    blank = np.full((600, 800, 3), 90, np.uint8)
    assert look_closer(blank, plane(FACE, BORE), 1.1) is None


@pytest.mark.parametrize(("gained", "kept_bore"), [(1.0, 0.7), (-1.0, 0.6)])
def test_a_doubtful_ring_is_looked_at_again_and_the_likelier_kept(
    monkeypatch: pytest.MonkeyPatch, gained: float, kept_bore: float
) -> None:
    seen = look_closer(bevelled(), plane(BEVEL, BORE - 4, 1.5), 1.1)
    assert seen is not None
    doubtful = replace(seen, plane=plane(FACE, 0.6 * FACE), choice=replace(seen.choice, share=0.2))
    again = replace(
        seen, plane=plane(FACE, 0.7 * FACE), choice=replace(seen.choice, score=seen.choice.score + gained)
    )
    looks = iter([doubtful, again])
    monkeypatch.setattr(ring, "look_closer", lambda *_: next(looks))
    found = find_ring(bevelled()).plane
    assert found is not None
    assert found.bore == pytest.approx(kept_bore)


@pytest.mark.parametrize(("least", "reason"), [(0.5, None), (1.01, "no_ring")])
def test_a_faint_ring_is_a_face_if_the_second_look_sees_it(
    monkeypatch: pytest.MonkeyPatch, least: float, reason: str | None
) -> None:
    monkeypatch.setattr(ring, "LEAST_SUPPORT", 1.01)
    monkeypatch.setattr(ring, "_CLOSE_SUPPORT", least)
    assert find_ring(np.asarray(cv2.imread(str(FACES / "0003.jpg")), np.uint8)).reason == reason


@pytest.mark.parametrize(
    ("light_beyond", "wider_by", "taken"), [(0.9, -0.5, 0), (0.9, -1.5, 1), (0.3, -0.5, 1)]
)
def test_an_edge_within_one_plane_is_not_the_end_of_the_face(
    monkeypatch: pytest.MonkeyPatch, light_beyond: float, wider_by: float, taken: int
) -> None:
    edges = [Edge(Curve(size, np.zeros(4)), 0.9, 1.0, 5.0) for size in (200.0, 170.0, 140.0)]
    place = replace(fine_place(bevelled(), plane(FACE, BORE), 1.1), edges=edges)
    measures = {
        "likely": np.array([wider_by, 0.0]), "light_beyond": np.array([0.1, light_beyond]),
        "light_within": np.zeros(2), "least_support": np.ones(2),
    }  # fmt: skip
    pairs = Pairs(np.array([0, 1]), np.array([2, 2]), measures)
    monkeypatch.setattr(ring_choice, "measure_closely", lambda _: pairs)
    line = (np.array([-9.0, 9.0]), np.array([-9.0, 9.0]))
    monkeypatch.setattr(ring_choice, "close_curves", lambda: {"likely": line})
    choice = ring_choice.choose_closely(place)
    assert choice is not None
    assert choice.outer == taken


@pytest.mark.parametrize(("begins", "less", "taken"), [(130.0, 4.0, 0), (130.0, 8.0, 1), (112.0, 4.0, 1)])
def test_a_ring_free_in_the_bore_of_another_is_not_the_face(
    monkeypatch: pytest.MonkeyPatch, begins: float, less: float, taken: int
) -> None:
    choice = _of_two(monkeypatch, (160.0, begins, 100.0, 80.0), less)
    assert choice is not None
    assert choice.outer == 2 * taken


@pytest.mark.parametrize(("less", "found"), [(3.5, True), (5.0, False)])
def test_a_face_wholly_in_the_picture_is_taken_if_believed_nearly_as_much(
    monkeypatch: pytest.MonkeyPatch, less: float, found: bool
) -> None:
    whole = np.array([False, False, True, True])
    choice = _of_two(monkeypatch, (160.0, 112.0, 100.0, 80.0), -less, whole)
    assert (choice is not None) == found
    if choice is not None:
        assert choice.outer == 2
        assert choice.share < 0.1


def _of_two(
    monkeypatch: pytest.MonkeyPatch,
    sizes: tuple[float, ...],
    less: float,
    whole: NDArray[np.bool_] | None = None,
) -> Choice | None:
    """Choose of two rings, one round the other, the outer one believed so much less."""
    edges = [Edge(Curve(size, np.zeros(4)), 0.9, 1.0, 5.0) for size in sizes]
    place = replace(fine_place(bevelled(), plane(FACE, BORE), 1.1), edges=edges)
    measures = {
        "likely": np.array([-less, 0.0]), "light_beyond": np.zeros(2),
        "light_within": np.zeros(2), "least_support": np.ones(2),
    }  # fmt: skip
    pairs = Pairs(np.array([0, 2]), np.array([1, 3]), measures)
    monkeypatch.setattr(ring_choice, "measure_closely", lambda _: pairs)
    line = (np.array([-9.0, 9.0]), np.array([-9.0, 9.0]))
    monkeypatch.setattr(ring_choice, "close_curves", lambda: {"likely": line})
    return ring_choice.choose_closely(place, whole)
