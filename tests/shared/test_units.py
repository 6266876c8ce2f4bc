"""Units: exact conversions. Expected factors: NIST SP 811, Appendix B (see each row)."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from shared.errors import SettingError
from shared.units import KIND_OF_UNIT, KINDS, SYMBOLS, UNITS, convert, decimal_text, same_kind

POUND_FORCE_N = Fraction("0.45359237") * Fraction("9.80665")
INCH_M = Fraction("0.0254")


@pytest.mark.parametrize(
    ("value", "from_unit", "to_unit", "expected"),
    [
        ("1", "in", "mm", Fraction("25.4")),  # SP 811 B.8: inch, exact
        ("1", "mm", "um", Fraction(1000)),
        ("0.001", "in", "um", Fraction("25.4")),
        ("1", "ft_lb", "N_m", POUND_FORCE_N * 12 * INCH_M),  # SP 811 B.8: 1.355 817 948 331 400 4
        ("1", "in_lb", "N_m", POUND_FORCE_N * INCH_M),  # SP 811 B.8: 0.112 984 829 027 616 7
        ("12", "in_lb", "ft_lb", Fraction(1)),
        ("1", "psi", "kPa", POUND_FORCE_N / INCH_M**2 / 1000),  # SP 811 B.8: 6.894 757 293 168 361
        ("1", "bar", "kPa", Fraction(100)),
        ("230", "degF", "degC", Fraction(110)),  # definition: a point on the scale, not a difference
        ("0", "degC", "degF", Fraction(32)),
        ("-40", "degF", "degC", Fraction(-40)),
        ("90", "s", "min", Fraction("1.5")),
    ],
)
def test_conversion_is_exact(value: str, from_unit: str, to_unit: str, expected: Fraction) -> None:
    assert convert(Fraction(value), from_unit, to_unit) == expected


@pytest.mark.parametrize(
    ("from_unit", "to_unit", "printed"),
    # The decimals as NIST SP 811 prints them.
    [
        ("ft_lb", "N_m", 1.3558179483314004),
        ("in_lb", "N_m", 0.1129848290276167),
        ("psi", "kPa", 6.894757293168361),
    ],
)
def test_conversion_agrees_with_the_printed_factor(from_unit: str, to_unit: str, printed: float) -> None:
    assert float(convert(Fraction(1), from_unit, to_unit)) == pytest.approx(printed, rel=1e-15)


CONVERTIBLE = [(a, b) for a in UNITS for b in UNITS if same_kind(a, b)]


@given(st.sampled_from(CONVERTIBLE), st.fractions(min_value=-1000, max_value=1000, max_denominator=10_000))
def test_there_and_back_is_the_same_value(pair: tuple[str, str], value: Fraction) -> None:
    assert convert(convert(value, *pair), pair[1], pair[0]) == value


@pytest.mark.parametrize(
    ("from_unit", "to_unit"), [("in", "psi"), ("percent", "count"), ("furlong", "in"), ("in", "furlong")]
)
def test_what_cannot_be_converted_is_refused(from_unit: str, to_unit: str) -> None:
    with pytest.raises(SettingError, match=r"furlong|cannot be turned into"):
        convert(Fraction(1), from_unit, to_unit)


def test_every_unit_has_a_kind_and_a_symbol() -> None:
    assert set(KIND_OF_UNIT) == set(SYMBOLS) == set(UNITS)
    assert {kind for kind in KIND_OF_UNIT.values() if kind} == set(KINDS)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (Fraction(18, 1000), "0.018"),
        (Fraction(17, 16), "1.0625"),
        (Fraction(70), "70"),
        (Fraction(0), "0"),
        (Fraction(-1, 8), "-0.125"),
        (Fraction(1, 3), "0.3333333333333333"),
        (Fraction(10**9), "1000000000"),
    ],
)
def test_decimal_text_is_plain(value: Fraction, text: str) -> None:
    assert decimal_text(value) == text


@example(Fraction(14, 757))
@given(st.fractions(min_value=-(10**6), max_value=10**6))
def test_decimal_text_gives_the_same_double_back(value: Fraction) -> None:
    assert float(decimal_text(value)) == float(value)
