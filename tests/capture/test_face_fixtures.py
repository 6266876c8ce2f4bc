"""The truth beside the rendered seal faces: whole, consistent, and what the generator's geometry says."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from typing import Any, get_args

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray

from fixtures.face_renders import defect_relief, defects, face_surface, materials, track, truth
from fixtures.face_renders.camera import project, sample_camera
from shared.photo import DefectKind, Reason

FACES = Path(__file__).parents[2] / "fixtures" / "faces"
NAMES = sorted(path.stem for path in FACES.glob("*.json"))
MOST_BYTES = 120_000
Array = NDArray[np.float64]


@cache
def read(name: str) -> dict[str, Any]:
    return dict(json.loads((FACES / f"{name}.json").read_text("utf-8")))


WITH_FACE = [name for name in NAMES if read(name)["outer"]]
WITH_DEFECTS = [name for name in NAMES if read(name)["defects"]]


def circle(radius: float) -> Array:
    theta = np.linspace(0, 2 * np.pi, 361)
    return radius * np.stack([np.cos(theta), np.sin(theta)], 1)


def distance_to_ellipse(points: Array, ellipse: dict[str, Any]) -> Array:
    """Pixels from an ellipse near it, to first order."""
    angle = np.radians(ellipse["angle_deg"])
    turn = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    local = (points - ellipse["centre_px"]) @ turn
    a, b = ellipse["major_px"] / 2, ellipse["minor_px"] / 2
    level = (local[:, 0] / a) ** 2 + (local[:, 1] / b) ** 2 - 1
    steep = 2 * np.hypot(local[:, 0] / a**2, local[:, 1] / b**2)
    return np.abs(level / steep)


def test_there_are_pictures_of_every_sort() -> None:
    facts = [read(name) for name in NAMES]
    assert {t["material"] for t in facts if t["usable"]} == {
        "carbon", "silicon_carbide", "alumina", "tungsten_carbide",
    }  # fmt: skip
    assert {t["track"]["evenness"] for t in facts if t["usable"]} == {"even", "uneven", "none"}
    assert {reason for t in facts for reason in t["reasons"]} == set(get_args(Reason))
    assert {d["kind"] for t in facts for d in t["defects"]} == set(get_args(DefectKind))
    assert {t["marker"] for t in facts if t["usable"]} == {True, False}


@pytest.mark.parametrize("name", NAMES)
def test_a_picture_is_small_and_its_truth_is_whole(name: str) -> None:
    facts, path = read(name), FACES / f"{name}.jpg"
    assert path.stat().st_size <= MOST_BYTES
    assert cv2.imread(str(path)).shape[2] == 3
    assert facts["name"] == name
    assert facts["usable"] == (not facts["reasons"])
    assert set(facts["reasons"]) <= set(get_args(Reason))
    if facts["usable"]:
        assert facts["kind"] == "face"
        assert facts["hidden"] <= 0.2
    assert (facts["outer"] is None) == (facts["kind"] != "face")


@pytest.mark.parametrize("name", WITH_FACE)
def test_the_edges_are_the_projected_circles(name: str) -> None:
    facts = read(name)
    homography = np.array(facts["plane_px"])
    for edge, diameter in (("outer", "outer_diameter_mm"), ("inner", "inner_diameter_mm")):
        away = distance_to_ellipse(project(homography, circle(facts[diameter] / 2)), facts[edge])
        assert away.max() < 0.5
    assert facts["px_per_mm"] == pytest.approx(
        facts["outer"]["major_px"] / facts["outer_diameter_mm"], rel=1e-4
    )


@pytest.mark.parametrize("name", WITH_FACE)
def test_three_o_clock_points_right_and_angles_run_counter_clockwise(name: str) -> None:
    homography = np.array(read(name)["plane_px"])
    middle, right, up = project(homography, np.array([[0.0, 0.0], [1e-3, 0.0], [0.0, 1e-3]]))
    slope = np.stack([right - middle, up - middle], 1) * [[1], [-1]]  # the picture's y runs down
    assert slope[0, 0] > 0
    assert slope[1, 1] > 0
    assert slope[0, 1] == pytest.approx(slope[1, 0], abs=1e-3 * slope[0, 0])


@pytest.mark.parametrize("name", [name for name in WITH_FACE if read(name)["track"]["present"]])
def test_the_track_lies_on_the_face_and_its_label_follows_from_its_numbers(name: str) -> None:
    facts = read(name)
    worn = facts["track"]
    assert facts["inner_diameter_mm"] / 2 <= worn["inner_radius_mm"] + 1e-3
    assert worn["inner_radius_mm"] < worn["outer_radius_mm"] <= facts["outer_diameter_mm"] / 2 + 1e-3
    assert worn["width_min_mm"] <= worn["width_mean_mm"] <= worn["width_max_mm"]
    even = worn["contact_share"] == 1 and worn["offset_mm"] < 0.2
    assert worn["evenness"] == (
        "even" if even and worn["width_max_mm"] < 1.25 * worn["width_min_mm"] else "uneven"
    )


@pytest.mark.parametrize("name", WITH_DEFECTS)
def test_a_defect_shows_beside_its_twin_and_nothing_else_differs(name: str) -> None:
    facts = read(name)
    twin = read(facts["twin"])
    assert twin["defects"] == []
    assert {key: twin[key] for key in ("outer", "inner", "track")} == {
        key: facts[key] for key in ("outer", "inner", "track")
    }
    pictures = [
        cv2.imread(str(FACES / f"{n}.jpg"), cv2.IMREAD_GRAYSCALE).astype(float) for n in (name, twin["name"])
    ]
    difference = np.abs(pictures[0] - pictures[1])
    homography, far = np.array(facts["plane_px"]), np.ones(difference.shape, np.uint8)
    for one in facts["defects"] + facts["faint"]:
        assert one["kind"] in get_args(DefectKind)
        cv2.fillPoly(far, [around(one, homography)], 0)
    for one in facts["defects"]:
        assert one["length_px"] >= 5
        assert one["width_px"] >= 1.2
        place = np.zeros(difference.shape, np.uint8)
        cv2.fillPoly(place, [around(one, homography, 0.0)], 1)
        assert difference[cv2.dilate(place, np.ones((3, 3))) == 1].max() >= 7
    assert np.percentile(difference[far == 1], 99.5) < 7


def around(one: dict[str, Any], homography: Array, margin: float = 1.0) -> NDArray[np.int32]:
    """Outline in pixels of a defect's place, grown by millimetres."""
    middle = (one["r_in_mm"] + one["r_out_mm"]) / 2
    half = min(np.radians(one["arc_deg"]) / 2 + margin / middle, np.pi)
    theta = np.radians(one["angle_deg"]) + np.linspace(-half, half, 181)
    way = np.stack([np.cos(theta), np.sin(theta)], 1)
    outline = np.concatenate([way * (one["r_out_mm"] + margin), way[::-1] * max(one["r_in_mm"] - margin, 0)])
    return project(homography, outline).round().astype(np.int32)


def test_a_camera_sees_a_circle_as_its_ellipse() -> None:
    camera = sample_camera(np.random.default_rng(4), 50.0, tilt_deg=40)
    seen = project(camera.plane_px(), circle(25.0))
    assert distance_to_ellipse(seen, truth.ellipse(camera.plane_px(), 25.0)).max() < 0.01


def test_a_sampled_track_has_the_label_asked_for() -> None:
    for seed in range(30):
        for kind in ("even", "uneven"):
            found = track.sample_track(
                np.random.default_rng(seed), 18.0, 24.0, dark=True, px_mm=12, kind=kind
            )
            assert found is not None
            assert track.track_truth(found)["evenness"] == kind


@pytest.mark.parametrize("kind", defects.KINDS)
def test_a_planted_defect_changes_the_face_where_its_truth_says(kind: str) -> None:
    site = defects.Site(18.0, 24.0, "carbon", True, 12.0)
    material = materials.sample_material(np.random.default_rng(1), "carbon")
    made = (defects.MAKERS[kind](np.random.default_rng(seed), site, 1.0, 0.5) for seed in range(20))
    defect = next(d for d in made if d is not None)
    maps = face_surface.blank_maps(18.0, 24.0, 12.0, material)
    before = maps.albedo.copy()
    defect_relief.paint(maps, defect)
    changed = np.abs(maps.albedo - before).max(2) > 0.002
    rows, columns = np.nonzero(changed)
    facts = truth.defect_truth(defect, np.diag([12.0, -12.0, 1.0]))
    slack = 0.2
    assert maps.radius[rows].min() >= facts["r_in_mm"] - slack
    assert maps.radius[rows].max() <= facts["r_out_mm"] + slack
    away = np.abs((np.degrees(maps.theta[columns]) - facts["angle_deg"] + 180) % 360 - 180)
    assert away.max() <= facts["arc_deg"] / 2 + np.degrees(slack / 18)
    assert away.max() >= 0.7 * facts["arc_deg"] / 2 - np.degrees(slack / 18)
