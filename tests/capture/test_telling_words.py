"""Which words tell one reading from another."""

from __future__ import annotations

import pytest

from capture.engines.telling_words import TellingWords
from shared.job_sheet import load_job_sheet


@pytest.mark.parametrize(
    ("text", "tells"),
    [
        ("the front clearance is eighteen thou", ("eighteen", "thou")),
        ("eighteen thousandths at vane two", ("eighteen", "thou", "vane", "two")),
        ("seventy foot_pounds", ("seventy", "foot_pound")),
        ("forty newton metres", ("forty", "newton", "metre")),
        ("half of a mill", ("half", "mil")),
        ("three's thirty", ("three", "thirty")),
        ("oh(2) one eight", ("oh", "one", "eight")),
        ("zero comma four", ("point", "four")),
        ("at the impeller end", ("impeller", "end")),
        ("take a picture of the seat", ()),
    ],
)
def test_numbers_units_and_positions_tell(text: str, tells: tuple[str, ...]) -> None:
    assert TellingWords(load_job_sheet("wash-water-end-suction")).of(text) == tells


def test_a_zero_that_begins_a_number_says_no_more_than_the_gap_before_it() -> None:
    telling = TellingWords(load_job_sheet("booster-multistage"))
    assert telling.of("stage two zero point three") == telling.of("stage two is point three")
    assert telling.of("stage two zero point three") != telling.of("stage two point three")


@pytest.mark.parametrize(
    ("text", "broken"),
    [
        ("centre twenty seven pull eight nine seven", True),
        ("stage two zero common three", True),
        ("stage two clearance three", False),
        ("vane one is eighteen and vane two eighteen", False),
        ("two and a half", False),
        ("ten to fifteen thou", False),
        ("three no four", False),
    ],
)
def test_a_word_that_has_no_business_between_two_numbers_is_told(text: str, broken: bool) -> None:
    assert TellingWords(load_job_sheet("booster-multistage")).breaks_a_number(text) is broken
