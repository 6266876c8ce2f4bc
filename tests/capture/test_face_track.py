"""The wear track of painted faces: radii, offset, gaps, evenness; none where there is none."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest

from capture.face.lighting import lit
from capture.face.plane import FacePlane
from capture.face.strip import Strip
from capture.face.track import Track, find_track
from capture.face.track_contact import gaps
from tests.capture.face_strips import BORE, MM, Worn, paint

WIDTH_MM = (1 - BORE) * MM


def tracked(track: Worn | None = None, **how: Any) -> Track:
    return find_track(lit(paint(track, **how)), MM)


def one_sided(_: np.ndarray, angle: np.ndarray) -> np.ndarray:
    return 1 + 0.5 * np.cos(angle - 1)


def near_lamp(height: np.ndarray, angle: np.ndarray) -> np.ndarray:
    return 1 + 0.5 * np.cos(angle - 1) + 0.15 * height * np.sin(angle)


def glare(height: np.ndarray, angle: np.ndarray) -> np.ndarray:
    return 1 + 20 * np.exp(-((angle - 2) ** 2 + (height * 0.1) ** 2) / 0.02)


def slanting_shadow(height: np.ndarray, angle: np.ndarray) -> np.ndarray:
    return np.where(np.abs(angle - 2 - 0.1 * height) < 0.5, 0.4, 1)


LIGHTS = [None, one_sided, near_lamp, glare, slanting_shadow]


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("seed", [1, 2])
def test_a_plain_face_has_none(light: Callable[..., np.ndarray] | None, seed: int) -> None:
    track = tracked(light=light, seed=seed)
    assert (track.evenness, track.present) == ("none", False)
    report = track.report(MM)
    assert report.inner_radius_mm is None
    assert report.offset_mm is None


@pytest.mark.parametrize("light", LIGHTS)
@pytest.mark.parametrize("contrast", [-0.25, 0.1, -0.04])
def test_an_even_track_is_measured(light: Callable[..., np.ndarray] | None, contrast: float) -> None:
    report = tracked(Worn(contrast=contrast), light=light).report(MM)
    assert (report.present, report.evenness) == (True, "even")
    assert report.inner_radius_mm == pytest.approx(0.84 * MM, abs=0.03 * WIDTH_MM)
    assert report.outer_radius_mm == pytest.approx(0.93 * MM, abs=0.03 * WIDTH_MM)
    assert report.offset_mm == pytest.approx(0, abs=0.1)
    assert report.width_mean_mm == pytest.approx(0.09 * MM, abs=0.03 * WIDTH_MM)


def test_a_track_that_only_its_texture_shows_is_found() -> None:
    report = tracked(Worn(contrast=0, rougher=1.5), light=one_sided).report(MM)
    assert report.evenness == "even"
    assert report.inner_radius_mm == pytest.approx(0.84 * MM, abs=0.03 * WIDTH_MM)
    assert report.outer_radius_mm == pytest.approx(0.93 * MM, abs=0.03 * WIDTH_MM)


def test_a_track_that_is_bright_towards_the_lamp_and_dark_away_from_it_is_found() -> None:
    strip, bare = paint(Worn(contrast=0.15)), paint(Worn(contrast=-0.15), seed=2)
    half = slice(0, strip.columns // 2)
    strip.picture[:, half] = bare.picture[:, half]
    report = find_track(lit(strip), MM).report(MM)
    assert report.evenness == "even"
    assert report.inner_radius_mm == pytest.approx(0.84 * MM, abs=0.03 * WIDTH_MM)


@pytest.mark.parametrize("direction", [0, 60, 200])
@pytest.mark.parametrize("contrast", [0.1, -0.05])
def test_an_offset_track_is_uneven_and_says_where_to(direction: float, contrast: float) -> None:
    worn = Worn(offset=0.03, direction_deg=direction, contrast=contrast)
    report = tracked(worn, light=near_lamp).report(MM)
    assert report.evenness == "uneven"
    assert report.offset_mm == pytest.approx(0.03 * MM, abs=0.1)
    assert report.offset_direction_deg is not None
    assert abs((report.offset_direction_deg - direction + 180) % 360 - 180) < 6


def test_turning_the_strip_turns_the_direction() -> None:
    strip = paint(Worn(offset=0.03, direction_deg=30, contrast=0.1))
    quarter = strip.columns // 4
    turned = Strip(np.roll(strip.picture, quarter, axis=1), strip.plane, strip.radii)
    first, second = (find_track(lit(s), MM).report(MM) for s in (strip, turned))
    assert first.offset_direction_deg is not None
    assert second.offset_direction_deg is not None
    assert (second.offset_direction_deg - first.offset_direction_deg) % 360 == pytest.approx(90, abs=2)
    assert second.offset_mm == pytest.approx(first.offset_mm, abs=0.03)


@pytest.mark.parametrize(("albedo", "gamma"), [(0.12, 1.0), (0.5, 1.0), (0.25, 0.75), (0.25, 1.3)])
def test_exposure_and_tone_leave_it_as_it_is(albedo: float, gamma: float) -> None:
    worn = Worn(offset=0.025, direction_deg=100, contrast=-0.1)
    usual, other = tracked(worn).report(MM), tracked(worn, albedo=albedo, gamma=gamma).report(MM)
    assert other.evenness == usual.evenness
    assert other.inner_radius_mm == pytest.approx(usual.inner_radius_mm, abs=0.01 * WIDTH_MM)
    assert other.outer_radius_mm == pytest.approx(usual.outer_radius_mm, abs=0.01 * WIDTH_MM)
    assert other.offset_mm == pytest.approx(usual.offset_mm, abs=0.03)


@pytest.mark.parametrize("gap", [(40, 62), (100, 160), (200, 310)])
def test_a_gap_in_the_contact_is_uneven(gap: tuple[float, float]) -> None:
    track = tracked(Worn(gap_deg=gap, contrast=-0.1), light=one_sided)
    assert track.evenness == "uneven"
    assert track.course is not None
    assert track.course.contact_share == pytest.approx(1 - (gap[1] - gap[0]) / 360, abs=0.03)
    assert track.report(MM).inner_radius_mm == pytest.approx(0.84 * MM, abs=0.03 * WIDTH_MM)


def test_two_gaps_with_a_short_touch_between_are_two() -> None:
    contrast = 12 + np.random.default_rng(2).normal(0, 1, 72)
    first, second = np.arange(10, 17), np.arange(19, 27)
    contrast[first] -= 11.5
    contrast[second] -= 11.5
    found = gaps(contrast, np.ones(72), np.ones(72))
    assert set(np.flatnonzero(found)) == {*first, *second}


def test_a_gap_of_which_one_end_is_soft_is_one_where_nothing_is_left() -> None:
    """A highlight often lies over one end; where something is left, or the sign changes, it is no gap."""
    contrast = 30 + np.random.default_rng(2).normal(0, 1, 72)
    contrast[10:24] = 3
    contrast[24:34] = np.linspace(4, 28, 10)
    assert set(range(10, 24)) <= set(np.flatnonzero(gaps(contrast, np.ones(72), np.ones(72))))
    turning = contrast * np.where(np.arange(72) < 17, 1, -1)
    turning[50:] = contrast[50:]
    assert not gaps(turning, np.ones(72), np.ones(72))[10:24].any()
    fading = contrast.copy()
    fading[10:24] = 13
    assert not gaps(fading, np.ones(72), np.ones(72))[10:24].any()


def test_a_band_among_other_rings_is_undecided() -> None:
    """Strong all round, but not the most of what goes round: a track or how the face was turned."""
    strip = with_rings(paint(Worn(contrast=-0.08)), 0.05)
    track = find_track(lit(strip), MM)
    assert (track.evenness, track.present) == ("undecided", True)
    assert track.proof is not None
    assert 0.25 < track.proof.share < 0.6


def test_a_width_that_changes_is_uneven() -> None:
    report = tracked(Worn(wider=0.35, direction_deg=90, contrast=-0.1)).report(MM)
    assert report.evenness == "uneven"
    assert report.width_min_mm == pytest.approx(0.65 * 0.09 * MM, abs=0.1)
    assert report.width_max_mm == pytest.approx(1.35 * 0.09 * MM, abs=0.1)
    assert report.offset_mm == pytest.approx(0, abs=0.1)


def test_chips_and_deposits_do_not_bend_it() -> None:
    strip = paint(Worn(contrast=-0.08))
    rows = strip.picture.shape[0]
    strip.picture[rows - 30 :, 300:360] = 15
    strip.picture[15:50, 900:1000] = strip.picture[15:50, 900:1000] // 2
    strip.picture[:, 1300:1305] //= 3
    report = find_track(lit(strip), MM).report(MM)
    assert report.evenness == "even"
    assert report.inner_radius_mm == pytest.approx(0.84 * MM, abs=0.03 * WIDTH_MM)
    assert report.outer_radius_mm == pytest.approx(0.93 * MM, abs=0.03 * WIDTH_MM)
    assert report.offset_mm == pytest.approx(0, abs=0.1)


def test_a_face_mostly_hidden_is_undecided() -> None:
    def flooded(_: np.ndarray, angle: np.ndarray) -> np.ndarray:
        return np.where(np.cos(angle) > -0.5, 30.0, 1.0)

    report = tracked(Worn(), light=flooded).report(MM)
    assert (report.present, report.evenness) == (True, "undecided")
    assert report.judged_share < 0.5


def test_without_a_scale_there_are_no_millimetres() -> None:
    report = tracked(Worn(offset=0.03, direction_deg=45)).report(None)
    assert (report.present, report.evenness) == (True, "uneven")
    assert report.inner_radius_mm is None
    assert report.width_mean_mm is None


@pytest.mark.parametrize(("bore", "inner", "outer"), [(0.9, 0.93, 0.97), (0.6, 0.7, 0.85)])
@pytest.mark.parametrize(("offset", "evenness"), [(0.007, "even"), (0.018, "uneven")])
def test_without_a_scale_an_offset_counts_by_the_size_of_the_face(
    bore: float, inner: float, outer: float, offset: float, evenness: str
) -> None:
    worn = Worn(inner=inner, outer=outer, offset=offset, direction_deg=200)
    assert tracked(worn, bore=bore).report(None).evenness == evenness


def test_an_edge_of_the_plane_that_is_half_a_per_cent_off_makes_no_track() -> None:
    strip = paint()
    shrunk = FacePlane(strip.plane.to_px, strip.plane.bore - 0.005)
    track = find_track(lit(Strip(strip.picture, shrunk, strip.radii)), MM)
    assert track.evenness == "none"


def test_the_edges_are_told_at_any_angle() -> None:
    edges = tracked(Worn(offset=0.03, direction_deg=90)).edges(np.array([0.0, 90.0, 270.0]))
    assert edges is not None
    assert edges[0] == pytest.approx([0.84, 0.87, 0.81], abs=0.004)
    assert edges[1] == pytest.approx([0.93, 0.96, 0.90], abs=0.004)


def with_rings(strip: Strip, depth: float) -> Strip:
    """Lapping marks that go round: each row a little darker or brighter."""
    random = np.random.default_rng(3)
    rows = np.convolve(random.standard_normal(strip.picture.shape[0] + 2), [0.25, 0.5, 0.25], "valid")
    marked = strip.picture * (1 + depth * rows)[:, None, None]
    return Strip(np.clip(marked, 0, 255).astype(np.uint8), strip.plane, strip.radii)


@pytest.mark.parametrize("depth", [0.02, 0.05])
def test_lapping_marks_all_round_are_no_track(depth: float) -> None:
    assert find_track(lit(with_rings(paint(), depth)), MM).evenness == "none"


def test_a_track_among_lapping_marks_is_found() -> None:
    report = find_track(lit(with_rings(paint(Worn(contrast=-0.25)), 0.02)), MM).report(MM)
    assert report.evenness == "even"
    assert report.outer_radius_mm == pytest.approx(0.93 * MM, abs=0.03 * WIDTH_MM)


def test_a_deposit_on_the_track_is_no_gap() -> None:
    strip = paint(Worn(contrast=0.2))
    strip.picture[20:60, 400:480] //= 2
    track = find_track(lit(strip), MM)
    assert track.course is not None
    assert track.course.contact_share == 1


def test_a_track_so_bright_that_it_is_clipped_is_measured_all_the_same() -> None:
    report = tracked(Worn(contrast=0.9), albedo=0.5).report(MM)
    assert report.present
    assert report.inner_radius_mm == pytest.approx(0.84 * MM, abs=0.03 * WIDTH_MM)
    assert report.outer_radius_mm == pytest.approx(0.93 * MM, abs=0.03 * WIDTH_MM)
