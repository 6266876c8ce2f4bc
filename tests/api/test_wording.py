"""How values, limits and moments are printed."""

from __future__ import annotations

import pytest

from api.report.wording import (
    candidate_words,
    clock,
    counted,
    limits_words,
    nominal_words,
    position_words,
    said_words,
    value_words,
)
from shared.job_sheet import JobSheet, load_job_sheet
from shared.record import Candidate
from shared.sheet_entries import Reading


@pytest.mark.parametrize(
    ("value", "unit", "decimals", "text"),
    [
        ("0.02", "in", 3, "0.020 in"),
        ("0.0185", "in", 3, "0.0185 in"),
        ("1.77195", "in", 4, "1.77195 in"),
        ("70", "ft_lb", 0, "70 ft·lb"),
        ("3", "count", 0, "3"),
        ("1E+2", "rpm", 0, "100 rpm"),
        ("-2.5", "degC", 1, "-2.5 °C"),
        (None, "in", 3, "no value"),
        # 350 psi in bar (NIST SP 811, B.8: 1 psi = 6.894 757 293 168 361 kPa), as a record holds it.
        ("24.131650526089263", "bar", 1, "≈ 24.132 bar"),
        ("0.0015748031496062992", "in", 0, "≈ 0.0015748 in"),
    ],
)
def test_zeros_are_added_and_only_endless_conversions_are_rounded(
    value: str | None, unit: str, decimals: int, text: str
) -> None:
    assert value_words(value, unit, decimals) == text


@pytest.mark.parametrize(
    ("limits", "text"),
    [
        ({"lower": "0.012", "upper": "0.024"}, "0.012 to 0.024 in"),
        ({"upper": "0.002"}, "at most 0.002 in"),
        ({"lower": "0.5"}, "at least 0.5 in"),
        ({"lower": "5", "upper": "5"}, "exactly 5 in"),
        ({}, "no limit"),
    ],
)
def test_limits_in_words(limits: dict[str, str], text: str) -> None:
    entry = Reading.model_validate({"item": "x", "unit": "in", **limits})
    assert limits_words(entry) == text
    assert nominal_words(entry) == ""


def test_an_item_that_is_on_no_sheet_says_so() -> None:
    assert limits_words(None) == "not on the sheet"


@pytest.mark.parametrize(
    ("seconds", "text"), [(0, "0:00"), (59.99, "0:59"), (61, "1:01"), (3725, "1:02:05"), (None, "")]
)
def test_moments(seconds: float | None, text: str) -> None:
    assert clock(seconds) == text


def test_a_candidate_names_only_what_differs(sheet: JobSheet) -> None:
    full = Candidate(item="front_clearance", position="1", value=0.018, value_exact="0.018", unit="in")
    assert candidate_words(sheet, full) == "front clearance vane one 0.018 in"
    assert candidate_words(sheet, Candidate(unit="mm")) == "mm"
    assert candidate_words(sheet, Candidate(part="seal", action="renewed")) == "seal renewed"
    assert candidate_words(sheet, Candidate(words="fourteen")) == "“fourteen”"


@pytest.mark.parametrize(("number", "text"), [(0, "no questions"), (1, "1 question"), (2, "2 questions")])
def test_counted(number: int, text: str) -> None:
    assert counted(number, "question") == text


@pytest.mark.parametrize(
    ("value", "unit", "said_unit", "text"),
    [
        ("24.131650526089263", "bar", "psi", "350 psi said"),
        ("0.25", "mm", "um", "250 µm said"),
        ("0.25", "mm", "mm", ""),
        ("0.018", "in", None, ""),
        (None, "in", "mm", ""),
    ],
)
def test_what_was_said_in_another_unit_is_shown(
    value: str | None, unit: str, said_unit: str | None, text: str
) -> None:
    assert said_words(value, unit, said_unit) == text


@pytest.mark.parametrize(
    ("sheet", "position", "item", "words"),
    [
        ("booster-multistage", "1", "neck_ring_clearance", "stage one"),
        ("booster-multistage", "1", "tie_rod_torque", "rod one"),
        ("booster-multistage", "1", None, "stage one"),
        ("wash-water-end-suction", "impeller_end", "shaft_runout", "at the impeller"),
    ],
)
def test_a_position_is_called_after_its_item(sheet: str, position: str, item: str | None, words: str) -> None:
    assert position_words(load_job_sheet(sheet), position, item) == words
