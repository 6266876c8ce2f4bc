"""Spoken numbers against outside collections and definitions, each with its source.

Recognizers-Text: microsoft/Recognizers-Text @90e968e, Specs/Number/English/NumberModel.json (MIT).
NeMo: NVIDIA/NeMo-text-processing @1f12635, tests/nemo_text_processing/en/data_inverse_text_normalization
(Apache-2.0). NIST SP 811: the inch is 25.4 mm exactly (Appendix B).
"""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest

from extract.numbers import numbers_at
from extract.quantities import find_quantities
from extract.tokens import tokenize


def reading_of(text: str) -> tuple[Fraction, int]:
    """Value and places of the likeliest reading of a whole text."""
    tokens = tokenize(text)
    whole = [reading for reading in numbers_at(tokens, 0) if reading.end == len(tokens)]
    return whole[0].value, whole[0].places


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # Recognizers-Text, NumberModel.json
        ("two hundred point seventy-one", Fraction("200.71")),
        ("two and fifty-four hundredths", Fraction("2.54")),
        ("five and a quarter", Fraction("5.25")),
        ("minus five point five", Fraction("-5.5")),
        ("nine point nought four", Fraction("9.04")),
    ],
)
def test_numbers_of_the_recognizers_text_collection(text: str, value: Fraction) -> None:
    assert reading_of(text)[0] == value


@pytest.mark.parametrize(
    ("text", "value", "places"),
    [
        # NeMo, test_cases_measure.txt
        ("one point o o o o two eight", Fraction("1.000028"), 6),
        ("sixty point two four zero zero", Fraction("60.2400"), 4),
    ],
)
def test_numbers_of_the_nemo_collection_keep_their_trailing_zeros(
    text: str, value: Fraction, places: int
) -> None:
    assert reading_of(text) == (value, places)


def test_kilograms_of_the_nemo_collection() -> None:
    # NeMo, test_cases_measure.txt: "sixty point two four zero zero kilograms"; our list keeps grams.
    assert [(q.value, q.unit) for q in find_quantities("sixty point two four zero zero kilograms")] == [
        (60_240.0, "g")
    ]


@pytest.mark.parametrize(
    ("text", "pint_text"),
    [
        # pint as the independent converter of what is printed in plain figures.
        ("thirty one thou", "31 thou"),
        ("two and a half mils", "2.5 thou"),
        ("one and three sixteenths inches", "1.1875 inch"),
        ("seven thirty seconds of an inch", "0.21875 inch"),
        ("two tenths of a thou", "0.2 thou"),
        ("two hundred and nine point six two five millimetres", "209.625 mm"),
        ("forty five microns", "45 micrometer"),
    ],
)
def test_lengths_agree_with_pint(text: str, pint_text: str) -> None:
    registry = pint.UnitRegistry()
    names = {"in": "inch", "mm": "millimeter", "um": "micrometer"}
    (found,) = find_quantities(text)
    assert found.value is not None
    assert found.unit is not None
    ours = registry.Quantity(found.value, names[found.unit])
    assert ours.to("millimeter").magnitude == pytest.approx(
        registry(pint_text).to("millimeter").magnitude, rel=1e-12
    )


def test_an_inch_of_thou_is_25_4_millimetres() -> None:
    # NIST SP 811, Appendix B: 1 in = 25.4 mm exactly.
    (found,) = find_quantities("one thousand thou")
    assert (found.value, found.unit) == (1.0, "in")
    assert pint.UnitRegistry().Quantity(found.value, "inch").to("mm").magnitude == pytest.approx(
        25.4, rel=1e-15
    )


def test_unified_inch_fractions_have_their_decimal_equivalents() -> None:
    # The handbook table of decimal equivalents of inch fractions (64ths), from memory; the values are
    # exact by arithmetic: 1/64 in = 0.015625 in, 17/32 = 0.53125, 63/64 = 0.984375.
    table = {
        "one sixty fourth of an inch": 0.015625, "seventeen thirty seconds of an inch": 0.53125,
        "sixty three sixty fourths of an inch": 0.984375, "eleven sixteenths of an inch": 0.6875,
    }  # fmt: skip
    for text, inches in table.items():
        assert [(q.value, q.unit) for q in find_quantities(text)] == [(inches, "in")]
