"""Conformity and repeated readings against published examples (checks A1-A9).

JCGM 106:2012, JCGM 100:2008 (texts not seen, formulas recomputed), NIST StRD. C* : the arithmetic is checked,
an input or the rule's text is from memory. The rule of ISO 14253-1 itself is MEM and gates nothing here.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from extract.shop.probability import conformance_probability, conformity_of
from extract.shop.repeated import repeated_readings, student_quantile

#: A2, NIST StRD "Michelso": speed of light in air, 1000 km/s, n = 100 (certified values below). The
#: data were recalled; that they are the right ones is what the certified mean and deviation show.
MICHELSO = """
299.85 299.74 299.90 300.07 299.93 299.85 299.95 299.98 299.98 299.88 300.00 299.98 299.93 299.65 299.76
299.81 300.00 300.00 299.96 299.96 299.96 299.94 299.96 299.94 299.88 299.80 299.85 299.88 299.90 299.84
299.83 299.79 299.81 299.88 299.88 299.83 299.80 299.79 299.76 299.80 299.88 299.88 299.88 299.86 299.72
299.72 299.62 299.86 299.97 299.95 299.88 299.91 299.85 299.87 299.84 299.84 299.85 299.84 299.84 299.84
299.89 299.81 299.81 299.82 299.80 299.77 299.76 299.74 299.75 299.76 299.91 299.92 299.89 299.86 299.88
299.72 299.84 299.85 299.85 299.78 299.89 299.84 299.78 299.81 299.76 299.81 299.79 299.81 299.82 299.85
299.87 299.87 299.81 299.74 299.81 299.94 299.95 299.80 299.81 299.87
"""


def exact(text: str) -> list[Fraction]:
    return [Fraction(word) for word in text.split()]


def test_twenty_temperatures() -> None:
    # A1, JCGM 100:2008 4.4.3: mean 100.145, s 1.489, u 0.333; data read in a secondary text, C+R2, 0.001
    worked = repeated_readings(
        exact(
            "96.90 98.18 98.25 98.61 99.03 99.49 99.56 99.74 99.89 100.07 100.33 100.42 100.68 100.95 "
            "101.11 101.20 "
            "101.57 101.84 102.36 102.72"
        ),
        "degC",
    )
    assert worked.value("mean") == pytest.approx(100.145, abs=1e-3)
    assert worked.value("standard_deviation") == pytest.approx(1.489, abs=1e-3)
    assert worked.value("uncertainty_of_mean") == pytest.approx(0.333, abs=1e-3)


def test_certified_mean_and_deviation() -> None:
    # A2, NIST StRD Michelso certified values, R, 1e-13 relative
    worked = repeated_readings(exact(MICHELSO), "")
    assert worked.value("readings") == 100
    assert worked.value("mean") == pytest.approx(299.8524, rel=1e-13)
    assert worked.value("standard_deviation") == pytest.approx(0.0790105478190518, rel=1e-13)


@pytest.mark.parametrize(
    ("value", "lower", "upper", "u", "expected"),
    [
        ("-5.47", None, "-5.40", "0.05", 0.919),  # A4, JCGM 106:2012 clause 7, C*
        ("509.7", "490", None, "8.6", 0.989),  # A5, JCGM 106:2012, C*
        ("0.0019", None, "0.0020", "0.00008", 0.894),  # A6, Gaussian, C*
        ("50.015", "50.002", "50.018", "0.002", 0.933),  # A7, Gaussian, C
        ("50.0175", "50.002", "50.018", "0.002", 0.599),  # A7, Gaussian, C
    ],
)
def test_probability_of_conformity(
    value: str, lower: str | None, upper: str | None, u: str, expected: float
) -> None:
    low, high = (None if limit is None else Fraction(limit) for limit in (lower, upper))
    assert conformance_probability(Fraction(value), low, high, Fraction(u)) == pytest.approx(
        expected, abs=1e-3
    )


def test_a_runout_near_its_limit_is_not_accepted() -> None:
    # A6: acceptance limit at U = 2u is 0.00184: 0.0019 is neither accepted nor rejected. C*; ISO 14253-1 MEM
    worked = conformity_of(Fraction("0.0019"), None, Fraction("0.0020"), Fraction("0.00016"), "in")
    assert worked.value("accept_upper") == pytest.approx(0.00184, abs=1e-9)
    assert worked.value("verdict") == "undecided"


def test_one_sided_guard() -> None:
    # A9, normal quantile, 1.645 u, C
    worked = conformity_of(Fraction(0), None, Fraction(10), Fraction(2), "mm")
    assert worked.value("accept_upper_95") == pytest.approx(10 - 1.645, abs=1e-3)
    guarded = conformity_of(Fraction("8.3551463730"), None, Fraction(10), Fraction(2), "mm")
    assert guarded.value("probability") == pytest.approx(0.95, abs=1e-9)


@pytest.mark.parametrize(
    ("freedom", "t"),
    [(19, 2.0930), (4, 2.7764)],  # A8, Student table, C, 1e-4
)
def test_student_quantiles(freedom: int, t: float) -> None:
    assert student_quantile(0.95, freedom) == pytest.approx(t, abs=1e-4)


def test_sixteen_degrees_of_freedom() -> None:
    # A3, JCGM 100 H.1: k 2.92 for 99 % and 16 degrees of freedom, C*
    assert student_quantile(0.99, 16) == pytest.approx(2.92, abs=5e-3)
