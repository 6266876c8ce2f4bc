"""Runout, tilt and shims against closed forms and brute force (checks G1-G11; all C, recomputed)."""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from extract.shop.runout import eccentricity
from extract.shop.shims import choose_shims, pack_for
from extract.shop.tilt import clearance_round, equal_angles_deg, first_harmonic

#: G2: eight readings at 45 degrees, thousandths of an inch.
EIGHT = [12, 14, 15, 15, 13, 11, 10, 10]


def test_a_circle_off_its_axis() -> None:
    # G1, exact polar circle: TIR is 2e, the second harmonic e²/4R.
    worked = eccentricity(Fraction("0.001"), "in", Fraction(1))
    assert worked.value("eccentricity") == 0.0005
    assert worked.value("twice_per_turn") == pytest.approx(6.25e-8, abs=1e-12)
    radius, offset, count = 1.0, 0.0005, 64
    angles = np.arange(count) * 2 * math.pi / count
    seen = offset * np.cos(angles) + np.sqrt(radius**2 - (offset * np.sin(angles)) ** 2)
    assert seen.max() - seen.min() == pytest.approx(0.001, abs=1e-12)
    assert abs(np.fft.rfft(seen)[2]) * 2 / count == pytest.approx(6.25e-8, abs=1e-9)


def test_first_harmonic_of_eight_readings() -> None:
    # G2: least squares = FFT = closed form, 1e-6
    fit = first_harmonic(EIGHT, equal_angles_deg(8))
    assert fit.mean == pytest.approx(12.5, abs=1e-6)
    assert fit.cosine == pytest.approx(-0.603553, abs=1e-6)
    assert fit.sine == pytest.approx(2.664214, abs=1e-6)
    assert fit.amplitude == pytest.approx(2.731723, abs=1e-6)
    assert fit.high_point_deg == pytest.approx(102.764, abs=1e-3)
    assert fit.residual_rms == pytest.approx(0.173642, abs=1e-6)
    spectrum = np.fft.rfft(EIGHT)[1] * 2 / 8
    assert (fit.cosine, fit.sine) == (pytest.approx(spectrum.real), pytest.approx(-spectrum.imag))
    # G3: the fitted side to side is 5.4634 where raw most minus least is 5
    worked = clearance_round([Fraction(v) for v in EIGHT], "thou")
    assert worked.value("side_to_side") == pytest.approx(5.4634, abs=1e-4)
    assert worked.value("spread") == 5


def test_every_second_reading_says_something_else() -> None:
    # G4
    fit = first_harmonic(EIGHT[::2], equal_angles_deg(4))
    assert fit.amplitude == pytest.approx(2.5495, abs=1e-4)
    assert fit.high_point_deg == pytest.approx(101.310, abs=1e-3)


@pytest.mark.parametrize(("count", "amplitude"), [(8, 0.0), (5, 0.0), (4, 1.0)])
def test_three_lobes_look_like_tilt_with_four_readings(count: int, amplitude: float) -> None:
    # G5, sampling theorem, 1e-12
    lobes = [math.cos(3 * math.radians(a)) for a in equal_angles_deg(count)]
    assert first_harmonic(lobes, equal_angles_deg(count)).amplitude == pytest.approx(amplitude, abs=1e-12)


def test_four_readings_carry_the_caution_and_eight_do_not() -> None:
    four = clearance_round([Fraction(v) for v in EIGHT[::2]], "thou")
    eight = clearance_round([Fraction(v) for v in EIGHT], "thou")
    assert any("three-lobed" in note for note in four.notes)
    assert not any("three-lobed" in note for note in eight.notes)


def test_tilt_at_a_radius() -> None:
    # G6: 2.731723 thou at 3 in is 0.9106 mrad, 0.0522 degrees
    worked = clearance_round([Fraction(v, 1000) for v in EIGHT], "in", radius=Fraction(3))
    assert worked.value("tilt_angle") == pytest.approx(0.9106, abs=1e-4)
    assert worked.value("tilt_angle_degrees") == pytest.approx(0.0522, abs=1e-4)


METRIC_SHIMS = [50, 50, 100, 100, 200, 250, 500, 1000]
INCH_SHIMS = [1, 2, 3, 5, 10, 15, 20, 25]


def test_shims_that_make_the_pack() -> None:
    choice = choose_shims(METRIC_SHIMS, 1150)  # G7, brute force
    assert (choice.stacks, choice.error) == (((1000, 100, 50),), 0)


def test_shims_that_cannot_make_the_pack() -> None:
    choice = choose_shims(METRIC_SHIMS, 1175)  # G8, brute force
    assert (choice.stacks, choice.error, choice.exact_stacks) == (((1000, 200),), 25, 0)
    assert (choice.other_side, choice.other_error) == (((1000, 100, 50),), -25)


def test_several_packs_make_thirty_eight() -> None:
    choice = choose_shims(INCH_SHIMS, 38)  # G9, brute force: six exact subsets, two smallest
    assert choice.exact_stacks == 6
    assert choice.stacks == ((25, 10, 3), (20, 15, 3))


def test_all_shims_and_one_step_more() -> None:
    assert choose_shims(INCH_SHIMS, 81).stacks == (tuple(sorted(INCH_SHIMS, reverse=True)),)  # G10
    out_of_reach = choose_shims(INCH_SHIMS, 82)
    assert (out_of_reach.exact_stacks, out_of_reach.error, out_of_reach.other_side) == (0, -1, ())


def test_floats_would_miss_a_stack_that_is_there() -> None:
    # G11
    assert 0.003 + 0.035 != 0.038
    assert sum([0.001] * 10) != 0.01
    worked = pack_for([Fraction(t) for t in ("0.003", "0.035")], Fraction("0.038"), "in")
    assert (worked.value("pack_error"), worked.value("exact_packs")) == (0, 1)
    assert pack_for([Fraction("0.001")] * 10, Fraction("0.01"), "in").value("number_of_shims") == 10


@given(st.lists(st.integers(1, 40), min_size=1, max_size=9), st.integers(0, 150))
def test_shims_agree_with_trying_every_subset(on_hand: list[int], target: int) -> None:
    choice = choose_shims(on_hand, target)
    subsets = {
        tuple(sorted(s, reverse=True)) for n in range(len(on_hand) + 1) for s in combinations(on_hand, n)
    }
    least = min(abs(sum(s) - target) for s in subsets)
    best = [s for s in subsets if abs(sum(s) - target) == least]
    fewest = min(len(s) for s in best)
    assert abs(choice.error) == least
    assert len(choice.stacks[0]) == fewest
    assert all(s in subsets and sum(s) == target + choice.error for s in choice.stacks)
    assert choice.exact_stacks == sum(sum(s) == target for s in subsets)
    same_side = {s for s in best if len(s) == fewest and sum(s) == target + choice.error}
    assert set(choice.stacks) <= same_side
    assert len(choice.stacks) == min(6, len(same_side))


def test_a_drawer_full_of_shims_is_searched_at_once() -> None:
    # Sixty thicknesses, a pack that takes many: found by what the thinner ones need, not by trying.
    on_hand = [7 * n + 11 for n in range(60)]
    choice = choose_shims(on_hand, sum(on_hand) // 2)
    assert choice.error == 0
    assert all(sum(stack) == sum(on_hand) // 2 for stack in choice.stacks)
