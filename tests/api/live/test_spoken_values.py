"""Values as a mechanic says them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from api.live.spoken_values import said_number, said_value
from shared.job_sheet import load_job_sheet

SHEET = load_job_sheet("wash-water-end-suction")


@pytest.mark.parametrize(
    ("exact", "unit", "said"),
    [
        ("0.031", "in", "thirty one"),
        ("0.0015", "in", "one and a half thou"),
        ("0.0005", "in", "half a thou"),
        ("0.0002", "in", "point two thou"),
        ("-0.003", "in", "minus three"),
        ("1.0620", "in", "one point oh six two"),
        # Foot pounds and inch pounds stand on one sheet.
        ("70", "ft_lb", "seventy foot pounds"),
        ("25", "psi", "twenty five p s i"),
        ("220", "degF", "two hundred twenty degrees fahrenheit"),
        ("5", "count", "five"),
        # Not the sheet's only unit of length.
        ("0.48", "mm", "point four eight millimetres"),
    ],
)
def test_a_unit_is_said_only_where_it_could_be_mistaken(exact: str, unit: str, said: str) -> None:
    assert said_value(SHEET, exact, unit) == said


@pytest.mark.parametrize(
    ("number", "said"),
    [
        ("0", "zero"),
        ("10", "ten"),
        ("100", "one hundred"),
        ("1780", "one thousand seven hundred eighty"),
        ("2000001", "two million one"),
        ("30.05", "thirty point oh five"),
        ("-0.5", "minus point five"),
    ],
)
def test_numbers(number: str, said: str) -> None:
    assert said_number(Decimal(number)) == said
