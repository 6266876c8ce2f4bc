"""The quick shader of seal faces: its pictures show what its truth says."""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from typing import Any

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from fixtures.face_renders.camera import project, sample_camera
from fixtures.face_renders.truth import ellipse
from fixtures.face_sketches import (
    bench_top,
    face_map,
    films,
    finish,
    lamps,
    mark_paint,
    marks,
    other_room,
    part,
    photograph,
    pictures,
    rays,
    scene,
    trouble,
)
from fixtures.face_sketches.lathe import Turned, ring, rings_along
from shared.photo import DefectKind, Reason

SIZE = (360, 270)
INNER, OUTER, HEIGHT = 15.0, 20.0, 6.0
Array = NDArray[np.float64]


@cache
def small(tilt: float) -> tuple[scene.Scene, part.Part, scene.Rendered]:
    """A light ring with square edges on a dark bench."""
    rng = np.random.default_rng(3)
    finishes = part.Finishes()
    face = finishes.add(finish.Finish((0.7, 0.7, 0.7), (0.0, 0.0, 0.0), 0.5))
    wall = finishes.add(finish.HOLE)
    rings = [
        *rings_along([(INNER, -HEIGHT), (INNER, 0.0)], [wall]),
        ring((INNER, 0.0), (OUTER, 0.0), face),
        *rings_along([(OUTER, 0.0), (OUTER, -HEIGHT)], [wall]),
    ]
    turned = Turned(tuple(rings))
    one = part.Part(INNER, OUTER, HEIGHT, "alumina", "plain", "open", turned, 1, ())
    camera = sample_camera(rng, 2 * OUTER, tilt_deg=tilt, ring_px=0.75, size=SIZE, off_centre=0.2)
    _, ground = bench_top.sample_ground(rng, 4.0, "dark")
    light = lamps.sample_surroundings(rng, "overcast", ground.diffuse)
    stage = scene.Scene(camera, [turned], finishes.all, -HEIGHT, ground, light, one)
    stage.maps[0] = face_map.face_map(rng, finishes.all[face], INNER, OUTER, None, 5.0)
    return stage, one, scene.render(stage)


def steps_along(light: Array, camera: Any, radius: float) -> Array:
    """Pixels, outwards, from the projected circle to the steepest change of light, at many angles."""
    found = []
    homography = camera.plane_px()
    for angle in np.radians(np.arange(0, 360, 10)):
        way = np.array([np.cos(angle), np.sin(angle)])
        here, beyond = project(homography, np.array([radius * way, (radius + 0.01) * way]))
        out = (beyond - here) / np.linalg.norm(beyond - here)
        s = np.arange(-4, 4.01, 0.25)
        x, y = (here[:, None] + out[:, None] * s).astype(np.float32)
        line = cv2.remap(light.astype(np.float32), x[None], y[None], cv2.INTER_LINEAR)[0]
        change, between = np.abs(np.diff(line)), (s[1:] + s[:-1]) / 2
        change = change * (np.abs(between - between[change.argmax()]) < 1.3)  # not its grain
        found.append(float((change * between).sum() / change.sum()))
    return np.array(found)


@pytest.mark.parametrize("tilt", [0.0, 20.0, 40.0])
def test_light_changes_where_the_true_edges_lie(tilt: float) -> None:
    stage, _, rendered = small(tilt)
    for radius in (INNER, OUTER):
        off = steps_along(rendered.light.mean(2), stage.camera, radius)
        assert abs(float(np.median(off))) < 0.15
        assert float(np.quantile(np.abs(off), 0.8)) < 0.5


def test_ellipse_of_the_truth_is_that_of_the_face_pixels() -> None:
    stage, one, rendered = small(20.0)
    whole = ellipse(stage.camera.plane_px(), one.outer)
    bore = ellipse(stage.camera.plane_px(), one.inner)
    area = np.pi / 4 * (whole["major_px"] * whole["minor_px"] - bore["major_px"] * bore["minor_px"])
    assert rendered.face.sum() == pytest.approx(area, rel=0.02)


def test_ray_meets_a_cone_where_it_should() -> None:
    cone = Turned((ring((2.0, 0.0), (4.0, -2.0), 0),))
    one = np.array([3.0], np.float32)
    still = np.zeros(1, np.float32)
    hits = rays.trace(rays.Rays(one, still, still, still), [cone], -5.0)
    assert hits.z[0] == pytest.approx(-1.0, abs=1e-5)
    assert hits.normal[0] == pytest.approx(np.array([1, 0, 1]) / np.sqrt(2), abs=1e-5)


def a_site() -> marks.Site:
    return marks.Site(INNER, OUTER, False, False, 4.0)


@pytest.mark.parametrize("kind", sorted(marks.MAKERS))
def test_twin_differs_only_at_the_mark(kind: str) -> None:
    stage, _, clean = small(20.0)
    made = (marks.MAKERS[kind](np.random.default_rng(k), a_site(), 1.0, 0.5) for k in range(40))
    mark = next(m for m in made if m is not None)
    marked = mark_paint.marred(stage.maps[0], (mark,), (INNER, OUTER))
    changed = np.abs(scene.with_marks(stage, clean, marked) - clean.light).max(2) > 0.004
    facts = marks.mark_truth(mark, a_site(), stage.camera.plane_px())
    y, x = np.nonzero(changed)
    assert len(x) >= 4
    flat = project(np.linalg.inv(stage.camera.plane_px()), np.stack([x, y], 1).astype(float))
    away = (np.degrees(np.arctan2(flat[:, 1], flat[:, 0])) - facts["angle_deg"] + 180) % 360 - 180
    r = np.hypot(flat[:, 0], flat[:, 1])
    px_deg = np.degrees(1 / 4.0 / INNER)
    assert np.abs(away).max() <= facts["arc_deg"] / 2 + 4 * px_deg
    reach = 2.6 if kind == "chip" else 0.9  # a chip runs on over the edge
    assert r.min() >= facts["r_in_mm"] - reach
    assert r.max() <= facts["r_out_mm"] + reach
    middle = (away.min() + away.max()) / 2
    assert abs(middle) < 3 or kind in ("score", "heat_check", "deposit")  # their ends fade


def test_marks_of_one_face_keep_apart() -> None:
    site = marks.Site(18.0, 26.0, True, True, 8.0)
    for seed in range(30):
        planted = marks.sample_marks(np.random.default_rng(seed), site, 4)
        spans = sorted(
            (m["angle_deg"], m["arc_deg"])
            for m in (marks.mark_truth(p, site, np.diag([8.0, -8.0, 1.0])) for p in planted)
            if m["kind"] != "score"
        )
        for (a, wide), (b, broad) in pairwise(spans):
            assert b - a > (wide + broad) / 2


def test_drops_lie_where_they_are_said_to() -> None:
    stage, _, _ = small(0.0)
    cover = stage.maps[0].copy()
    spots = films.drops(np.random.default_rng(2), cover.tone, cover.gloss, cover.scale, (INNER, OUTER))
    changed = np.abs(cover.tone - stage.maps[0].tone).max(2) > 1e-4
    rows, columns = np.nonzero(changed)
    places = (np.stack([columns, rows], 1) - cover.side / 2 + 0.5) / cover.scale
    middles = np.array([[r * np.cos(a), r * np.sin(a)] for a, r, _ in spots])
    far = np.linalg.norm(places[:, None] - middles[None], axis=2) - np.array([half for *_, half in spots])
    assert len(places) > 10
    assert far.min(1).max() < 2 / cover.scale


def test_same_recipe_same_noise() -> None:
    _, _, rendered = small(0.0)
    rng = np.random.default_rng(1)
    recipe, taste = photograph.sample_recipe(rng), photograph.sample_taste(rng)
    assert np.array_equal(*(photograph.taken(rendered.light, recipe, taste) for _ in range(2)))


@pytest.mark.parametrize("room", [pictures, other_room])
def test_usable_picture_has_the_words_of_the_contract(room: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pictures, "SIZES", ((480, 360),))
    for seed in range(40):
        try:
            shots = room.usable(np.random.default_rng(seed), 2)
            break
        except pictures.PlanRefusedError:
            continue
    (_, full), (tail, bare) = shots
    assert tail == "t"
    assert bare.truth["defects"] == []
    assert full.truth["defects"]
    assert {d["kind"] for d in full.truth["defects"]} <= set(DefectKind.__args__)
    without = ("defects", "faint")
    assert {k: v for k, v in full.truth.items() if k not in without} == {
        k: v for k, v in bare.truth.items() if k not in without
    }


@pytest.mark.parametrize("kind", ["o_ring", "too_small"])
def test_unusable_picture_says_why(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trouble, "SIZES", ((480, 360),))
    for seed in range(20):
        try:
            shot = trouble.shoot(np.random.default_rng(seed), kind)
            break
        except pictures.PlanRefusedError:
            continue
    assert shot.truth["usable"] is False
    assert set(shot.truth["reasons"]) <= set(Reason.__args__)


def test_other_room_leaves_the_edges_where_they_are() -> None:
    """Less light within the bore and beside the ring, a glow, grain; but no edge of the face moves."""
    stage, _, rendered = small(20.0)
    tracing = other_room.Tracing(0.5, 5.0, 0.05, 8.0, 0.03, 0.0, 1)
    light = other_room.traced(rendered, rendered.light, tracing)
    assert not np.array_equal(light, rendered.light)
    for radius in (INNER, OUTER):
        off = steps_along(light.mean(2), stage.camera, radius)
        assert abs(float(np.median(off))) < 0.2


def test_other_room_without_anything_is_the_room_as_it_was() -> None:
    _, _, rendered = small(20.0)
    nothing = other_room.Tracing(0.0, 5.0, 0.0, 8.0, 0.0, 0.0, 1)
    assert np.array_equal(other_room.traced(rendered, rendered.light, nothing), rendered.light)


def test_other_room_is_warm_on_one_side_and_cold_on_the_other() -> None:
    _, ground = bench_top.sample_ground(np.random.default_rng(1), 4.0, "plain")
    light = lamps.sample_surroundings(np.random.default_rng(1), "overcast", ground.diffuse)
    coloured = other_room.two_colours(np.random.default_rng(1), light)
    warmth = np.divide(*np.moveaxis(coloured.ambient / light.ambient, 2, 0)[[0, 2]])
    assert warmth.max() > 1.2
    assert warmth.min() < 0.85
    assert coloured.lamps[0].size >= light.lamps[0].size
