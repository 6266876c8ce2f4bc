"""Unit conversion against published definitions (checks U1-U11).

Flags: C recomputed from the formula named; R read in the source; C+R both, and they agree.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from extract.shop.amounts import Amount, converted, parse_amount
from extract.shop.conversion import convert_amount
from extract.shop.light_bands import BAND_UM, flatness_of_bands
from shared.errors import CalculationOutOfRange, SettingError


@pytest.mark.parametrize(
    ("given", "to", "expected", "rel"),
    [
        ("1in", "mm", 25.4, 0),  # U1, NIST SP 811 App. B, C: exact
        ("1lbf", "N", 4.4482216152605, 1e-15),  # U2, SP 811 (0.45359237 x 9.80665), C: exact
        ("1ft_lb", "N_m", 1.3558179483314004, 1e-12),  # U3, SP 811; pint, C
        ("1in_lb", "N_m", 0.1129848290276167, 1e-12),  # U4, SP 811; pint, C
        ("1psi", "kPa", 6.894757293168361, 1e-12),  # U5, SP 811; pint, C
        ("1gpm", "m3_h", 0.22712470704, 1e-12),  # U6, 231 cubic inches, C
        ("230degF", "degC", 110, 0),  # U7, definition, C: exact
        ("1oz_in", "g_mm", 720.0779, 1e-6),  # U10, 28.349523125 g x 25.4, C (printed to 1e-4)
        ("100000psi_ft_min", "bar_m_s", 35.03, 3e-4),  # U11, Pump Handbook, C+R (tolerance 0.01)
        ("162degF_diff", "K", 90, 0),  # trap: a difference has no offset, C
        ("144degF_diff", "K", 80, 0),  # the same text's other end, C
    ],
)
def test_conversions(given: str, to: str, expected: float, rel: float) -> None:
    worked = convert_amount(parse_amount(given), to)
    assert worked.value("result") == (expected if rel == 0 else pytest.approx(expected, rel=rel))


def test_exact_conversions_are_exact() -> None:
    assert converted(Fraction(1), "in", "mm") == Fraction("25.4")  # U1
    assert converted(Fraction(1), "lbf", "N") == Fraction("0.45359237") * Fraction("9.80665")  # U2
    assert converted(Fraction(230), "degF", "degC") == 110  # U7


def test_light_bands_are_half_a_helium_wave_each() -> None:
    # U8, helium line 587.56 nm; a seal trade text prints 0.0000116 in and 0.3 um, C+R, tolerance 0.001 uin
    assert pytest.approx(0.29378, abs=1e-9) == BAND_UM
    assert flatness_of_bands(1).value("flatness_inch") == pytest.approx(11.566, abs=1e-3)
    # U9, three bands, "a little less than a micron", C+R, tolerance 0.001 um
    assert flatness_of_bands(3).value("flatness") == pytest.approx(0.881, abs=1e-3)
    assert flatness_of_bands(3).value("flatness_inch") == pytest.approx(34.70, abs=1e-2)


def test_a_temperature_and_its_difference_are_two_things() -> None:
    with pytest.raises(SettingError, match="cannot be turned into"):
        convert_amount(parse_amount("230degF"), "K")
    (note,) = convert_amount(parse_amount("162degF_diff"), "K").notes
    assert "difference" in note
    with pytest.raises(CalculationOutOfRange, match="below absolute zero"):
        convert_amount(parse_amount("-300degC"), "degF")


@pytest.mark.parametrize("text", ["0.5mil", "5 mils", "25psig", "25psia", "2barg"])
def test_a_unit_of_two_meanings_is_asked_about(text: str) -> None:
    # "mil" is 0.001 in to some and a millimetre to others (checks section 1, traps).
    with pytest.raises(SettingError, match="can mean two things"):
        parse_amount(text)


def test_foot_pounds_are_not_inch_pounds() -> None:
    assert parse_amount("70 ft·lb") == Amount(Fraction(70), "ft_lb")
    assert parse_amount("70 in-lb") == Amount(Fraction(70), "in_lb")
    assert converted(Fraction(1), "ft_lb", "in_lb") == 12
