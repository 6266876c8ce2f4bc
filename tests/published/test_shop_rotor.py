"""Wear rings, unbalance, fits, heating and the test stand (checks W1-W4, W9-W14, I1-I15, H5-H10).

WR1, WR2: two pump makers' public manuals that reprint the API 610 table. JIS: JIS B 0401:1999. IS919:
IS 919-1:1993 = ISO 286-1:1988. BRG: a bearing maker's shaft-fit table. Saturation pressures and
densities (H1-H4) need a water library that this program does without; H9 takes them as given.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest

from extract.shop.balance import CONSTANT, residual_unbalance
from extract.shop.fits import (
    bearing_bore,
    fit_of,
    hole_zone,
    shaft_zone,
    standard_tolerance_um,
    tolerance_by_formula_um,
)
from extract.shop.heating import growth_of, growth_um, heating_for, rise_for_k
from extract.shop.pump_head import at_speed, pump_head, suction_head, velocity_head_m
from extract.shop.wear_ring import least_clearance, ring_clearance
from shared.errors import CalculationOutOfRange

INCH_MM = Fraction("25.4")


@pytest.mark.parametrize(
    ("diameter_in", "clearance_in"),
    # W1, API 610 11th in WR1, R2: both ends of every row
    [("0.5", "0.010"), ("1.999", "0.010"), ("2", "0.011"), ("2.4999", "0.011"), ("2.5", "0.012"),
     ("2.999", "0.012"), ("3", "0.013"), ("3.499", "0.013"), ("3.5", "0.014"), ("3.999", "0.014"),
     ("4", "0.015"), ("4.499", "0.015"), ("4.5", "0.016"), ("4.999", "0.016"),
     ("5", "0.017"), ("5.999", "0.017"), ("6", "0.018"),
     ("6.999", "0.018"), ("7", "0.019"), ("7.999", "0.019"),
     ("8", "0.020"), ("8.999", "0.020")],
)  # fmt: skip
def test_least_ring_clearance_in_inches(diameter_in: str, clearance_in: str) -> None:
    assert least_clearance(Fraction(diameter_in) * INCH_MM).clearance_mm == Fraction(clearance_in) * INCH_MM


@pytest.mark.parametrize(
    ("diameter_mm", "clearance_mm"),
    # W2, WR1 and WR2 agree, R2. Below 9 in the inch rows are carried: they are the same to what is printed.
    [("70", 0.30), ("85", 0.33), ("140", 0.43), ("190", 0.48), ("240", 0.53), ("290", 0.58), ("340", 0.63)],
)
def test_least_ring_clearance_in_millimetres(diameter_mm: str, clearance_mm: float) -> None:
    assert float(least_clearance(Fraction(diameter_mm)).clearance_mm) == pytest.approx(
        clearance_mm, abs=0.005
    )


def test_rows_where_the_reprints_disagree() -> None:
    # W3, conflict, R2: 95 mm carries the inch row (0.014 in); 260 mm the larger of 0.56 and 0.55, and says so
    assert least_clearance(Fraction(95)).clearance_mm == Fraction("0.014") * INCH_MM
    least = least_clearance(Fraction(260))
    assert (least.clearance_mm, least.other_mm) == (Fraction("0.56"), Fraction("0.55"))
    assert any("another reprint" in note for note in ring_clearance(Fraction(260)).notes)


def test_large_rings() -> None:
    # W4, WR1, R2: 0.037 in + 0.001 in for every inch above 26; "1 mm per 1 mm" is a misprint
    assert least_clearance(28 * INCH_MM).clearance_mm == Fraction("0.039") * INCH_MM
    with pytest.raises(CalculationOutOfRange):
        least_clearance(Fraction(500))


def test_it_is_a_minimum_for_new_parts() -> None:
    worked = ring_clearance(7 * INCH_MM, Fraction("0.018") * INCH_MM)
    assert "below the least clearance" in worked.notes
    assert any("no wear limit" in note for note in worked.notes)


def test_unbalance_constant() -> None:
    assert pytest.approx(9549.297, abs=1e-3) == CONSTANT  # W9, ISO 21940-11 (text MEM), C


@pytest.mark.parametrize(
    ("mass_kg", "speed_rpm", "grade", "g_mm", "eccentricity_um"),
    [
        (10, 2950, 6.3, 203.9, 20.4), (10, 2950, 2.5, 80.9, 8.1),  # W10, C, 0.1 %
        (25, 3560, 6.3, 422.5, None), (25, 3560, 2.5, 167.7, None),  # W11, C, 0.1 %
    ],
)  # fmt: skip
def test_permissible_unbalance(
    mass_kg: float, speed_rpm: float, grade: float, g_mm: float, eccentricity_um: float | None
) -> None:
    worked = residual_unbalance(mass_kg, speed_rpm, grade)
    assert worked.value("unbalance") == pytest.approx(g_mm, rel=1e-3)
    if eccentricity_um is not None:
        assert worked.value("eccentricity") == pytest.approx(eccentricity_um, abs=0.05)


def test_inch_forms_of_unbalance() -> None:
    # W12, U = 6.015 G W/N oz·in, a trade article, C+R, 1e-3
    worked = residual_unbalance(100 * 0.45359237, 3600, 6.3)
    assert worked.value("unbalance_inch") == pytest.approx(6.015 * 6.3 * 100 / 3600, rel=1e-3)
    # W13, 4W/N oz·in (MIL-STD-167 as quoted) is G0.665, C+R2, 1 %
    assert residual_unbalance(100 * 0.45359237, 3600, 0.665).value("unbalance_inch") == pytest.approx(
        4 * 100 / 3600, rel=0.01
    )
    # W14, G6.3 for most pumps, the same article, R2
    assert "G6.3" in worked.notes[0]


@pytest.mark.parametrize(
    ("size", "grade", "unrounded", "tolerance"),
    [
        ("25", "6", 13.07, 13), ("25", "7", 20.92, 21),  # I1 (I1-I3: IS919, C+R)
        ("40", "5", 10.93, 11), ("40", "6", 15.61, 16), ("40", "7", 24.98, 25), ("40", "8", 39.03, 39),  # I2
        ("60", "5", 12.99, 13), ("60", "6", 18.56, 19), ("60", "7", 29.70, 30), ("60", "8", 46.40, 46),  # I3
    ],
)  # fmt: skip
def test_standard_tolerances(size: str, grade: str, unrounded: float, tolerance: int) -> None:
    assert tolerance_by_formula_um(Fraction(size), grade) == pytest.approx(unrounded, abs=0.006)
    assert standard_tolerance_um(Fraction(size), grade) == tolerance


@pytest.mark.parametrize("size", ["20", "30", "50", "80", "100", "120", "150", "180", "200", "250"])
@pytest.mark.parametrize("grade", ["5", "6", "7", "8"])
def test_the_formula_rounded_is_the_table_above_18_mm(size: str, grade: str) -> None:
    # Extends I1-I3 (C) over the ranges whose table was read in reprints only.
    assert round(tolerance_by_formula_um(Fraction(size), grade)) == standard_tolerance_um(
        Fraction(size), grade
    )


def test_the_size_itself_does_not_do_for_the_range_mean() -> None:
    # I4 (must fail): D = 50 gives 17.1 and 27.3 against 16 and 25, C
    unit = 0.45 * 50 ** (1 / 3) + 0.001 * 50
    assert (10 * unit, 16 * unit) == (pytest.approx(17.1, abs=0.05), pytest.approx(27.3, abs=0.05))
    assert round(10 * unit) != standard_tolerance_um(Fraction(50), "6")
    assert round(16 * unit) != standard_tolerance_um(Fraction(50), "7")


@pytest.mark.parametrize(
    ("size", "zone", "upper", "lower"),
    [
        ("50", "k6", 18, 2), ("65", "k6", 21, 2),  # I5, JIS, C+R
        ("50", "m6", 25, 9), ("65", "m6", 30, 11),  # I6, JIS, C+R
        ("50", "h6", 0, -16), ("65", "h6", 0, -19),  # I7, JIS, C+R
    ],
)  # fmt: skip
def test_shaft_limits(size: str, zone: str, upper: int, lower: int) -> None:
    found = shaft_zone(Fraction(size), zone)
    assert (found.upper_um, found.lower_um) == (upper, lower)


@pytest.mark.parametrize(("size", "upper"), [("50", 25), ("65", 30)])  # I8, C+R
def test_hole_limits(size: str, upper: int) -> None:
    found = hole_zone(Fraction(size), "H7")
    assert (found.upper_um, found.lower_um) == (upper, 0)


@pytest.mark.parametrize("size", ["20", "40", "60", "100", "150", "200"])
def test_deviations_agree_with_their_formulas(size: str) -> None:
    # Formulas of IS919 as in a machine-drawing handbook, table 15.4 (R2): m = IT7 - IT6, n = 5 D^0.34,
    # g = -2.5 D^0.34, f = -5.5 D^0.41, p = IT7 + 0 to 5; tables round, so within 1 um (f: 1.5).
    steps = [18, 30, 50, 80, 120, 180, 250]
    low, high = next((a, b) for a, b in pairwise(steps) if a < int(size) <= b)
    mean = (low * high) ** 0.5
    exact, it7, it6 = (
        Fraction(size),
        standard_tolerance_um(Fraction(size), "7"),
        standard_tolerance_um(Fraction(size), "6"),
    )
    assert shaft_zone(exact, "m6").lower_um == pytest.approx(it7 - it6, abs=0)
    assert float(shaft_zone(exact, "n6").lower_um) == pytest.approx(5 * mean**0.34, abs=1)
    assert float(shaft_zone(exact, "g6").upper_um) == pytest.approx(-2.5 * mean**0.34, abs=1)
    assert float(shaft_zone(exact, "f7").upper_um) == pytest.approx(-5.5 * mean**0.41, abs=1.5)
    assert 0 <= shaft_zone(exact, "p6").lower_um - it7 <= 5
    if mean <= 120:
        assert float(shaft_zone(exact, "k6").lower_um) == pytest.approx(0.6 * mean ** (1 / 3), abs=0.6)


@pytest.mark.parametrize(
    ("size", "bore", "zone", "least", "most"),
    [
        ("50", 12, "k6", 2, 30), ("50", 12, "m6", 9, 37),  # I9, BRG, C+R
        ("65", 15, "k6", 2, 36), ("65", 15, "m6", 11, 45),  # I10, JIS limits, C
    ],
)  # fmt: skip
def test_bearing_fits(size: str, bore: int, zone: str, least: int, most: int) -> None:
    worked = fit_of(Fraction(size), bearing_bore(Fraction(bore)), shaft_zone(Fraction(size), zone))
    assert (worked.value("interference_least"), worked.value("interference_most")) == (least, most)


def test_a_sliding_fit() -> None:
    worked = fit_of(Fraction(50), hole_zone(Fraction(50), "H7"), shaft_zone(Fraction(50), "h6"))  # I11, C
    assert (worked.value("clearance_least"), worked.value("clearance_most")) == (0, 41)


@pytest.mark.parametrize(
    ("bore_mm", "interference", "growth", "clears"),
    [(50, 30, 54.0, 24.0), (65, 36, 70.2, 34.2)],  # I12, I13: +90 K, alpha 12e-6, C, 0.1
)
def test_growth_of_a_heated_bearing(
    bore_mm: float, interference: float, growth: float, clears: float
) -> None:
    worked = growth_of(bore_mm, 90, interference, 12e-6)
    assert worked.value("growth") == pytest.approx(growth, abs=0.1)
    assert worked.value("clears_by") == pytest.approx(clears, abs=0.1)


@pytest.mark.parametrize(("alpha", "growth"), [(11e-6, 49.5), (12.5e-6, 56.25)])
def test_the_expansion_coefficient_is_part_of_the_answer(alpha: float, growth: float) -> None:
    # I12's remark: alpha must be recorded. C
    assert growth_um(50, 90, alpha) == pytest.approx(growth, abs=0.01)
    assert growth_of(50, 90, 0, alpha).value("expansion_coefficient") == alpha


def test_heating_for_a_large_bearing() -> None:
    # I14, 120 mm n6, 65 um, alpha 11e-6: 49.2 K, printed "about 50", a bearing page, C+R, 1 K
    assert rise_for_k(120, 65, 11e-6) == pytest.approx(49.2, abs=0.1)


def test_too_hot_is_said() -> None:
    # I15, maker's text: never above 125 degC; another source caps 120, R
    assert any("must not be fitted by heating alone" in note for note in heating_for(50, 60, 20, 20).notes)
    assert not any("must not" in note for note in heating_for(50, 30, 10, 20).notes)
    assert "no open flame" in heating_for(50, 30, 10, 20).method.cautions[0]


def test_head() -> None:
    assert pump_head(500, 998.2).value("head") == pytest.approx(51.08, abs=0.01)  # H5, dp/(rho g), C
    assert pump_head(6.894757, 998.2).value("head_inch") == pytest.approx(2.31, abs=0.005)  # H6, C
    assert velocity_head_m(100, 80) == pytest.approx(1.557, abs=1e-3)  # H7, continuity, C
    assert velocity_head_m(100, 100) == pytest.approx(0.638, abs=1e-3)  # H7, C
    power = pump_head(50 * 998.16 * 9.80665 / 1000, 998.16, flow_m3_h=100).value("hydraulic_power")
    assert power == pytest.approx(13.60, abs=0.01)  # H10, rho g Q H, C


@pytest.mark.parametrize(
    ("vapour_kpa", "density", "npsh"),
    # H9 at 20, 60, 80 degC, with H2 and H4 (IAPWS-95) as inputs, C, 0.01 m
    [(2.3393, 998.16, 11.61), (19.946, 983.16, 9.94), (47.414, 971.77, 7.16)],
)
def test_suction_head(vapour_kpa: float, density: float, npsh: float) -> None:
    worked = suction_head(101.325, vapour_kpa, density, 2.0, 0.5)
    assert worked.value("npsh") == pytest.approx(npsh, abs=0.01)


def test_affinity_laws() -> None:
    worked = at_speed(100, 50, 20, 2950, 1475)  # H8, n, n², n³, C, exact
    assert [worked.value(n) for n in ("flow", "head", "power")] == [50, 12.5, 2.5]
