"""Every number that a run of tokens can mean."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from extract.numbers import NumberReading, is_number_word, numbers_at, vague_number_end, with_point_placed
from extract.tokens import tokenize


def whole_readings(text: str) -> list[NumberReading]:
    """Readings that take in the whole text."""
    tokens = tokenize(text)
    return [reading for reading in numbers_at(tokens, 0) if reading.end == len(tokens)]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("a hundred and fifty five", 155),
        ("one hundred fifty five", 155),
        ("one fifty five", 155),
        ("one oh five", 105),
        ("two ten", 210),
        ("eleven hundred", 1100),
        ("seventeen fifty", 1750),
        ("seventeen oh five", 1705),
        ("twenty nine hundred", 2900),
        ("two thousand nine hundred and fifty two", 2952),
        ("three double oh", 300),
        ("one seven five oh", 1750),
        ("zero", 0),
        ("nought", 0),
        ("hundred", 100),
        ("half a dozen", 6),
        ("point oh three one", Fraction(31, 1000)),
        ("nought point seven", Fraction(7, 10)),
        ("nine point five oh oh", Fraction(19, 2)),
        ("point seven fifty", Fraction(3, 4)),
        ("two hundred and nine point six two five", Fraction(209625, 1000)),
        ("two oh nine point five five", Fraction(20955, 100)),
        ("one ten point zero two six", Fraction(110026, 1000)),
        ("point oh oh one and a half", Fraction(15, 10_000)),
        ("thirty and a half", Fraction(61, 2)),
        ("one and a quarter", Fraction(5, 4)),
        ("three quarters", Fraction(3, 4)),
        ("half", Fraction(1, 2)),
        ("an eighth", Fraction(1, 8)),
        ("a strong sixteenth", Fraction(1, 16)),
        ("three sixteenths", Fraction(3, 16)),
        ("seven thirty seconds", Fraction(7, 32)),
        ("nine sixty fourths", Fraction(9, 64)),
        ("nine and fifteen thirty seconds", 9 + Fraction(15, 32)),
        ("one and seven eighths", Fraction(15, 8)),
        ("one seven eighths", Fraction(15, 8)),
        ("thirty one thousandths", Fraction(31, 1000)),
        ("one and a half thousandths", Fraction(15, 10_000)),
        ("half a thousandth", Fraction(1, 2000)),
        ("forty hundredths", Fraction(2, 5)),
        ("fifteen ten thousandths", Fraction(15, 10_000)),
        ("minus one and a half", Fraction(-3, 2)),
        ("plus two", 2),
        ("negative point oh oh five", Fraction(-5, 1000)),
        ("1 3/8", Fraction(11, 8)),
        ("1-3/8", Fraction(11, 8)),
        ("30½", Fraction(61, 2)),
        ("1,750", 1750),
        (".031", Fraction(31, 1000)),
        ("0,031", Fraction(31, 1000)),
        ("-1.5", Fraction(-3, 2)),
        ("30,000ths", Fraction(30, 1000)),
        ("7/32nds", Fraction(7, 32)),
        ("7/30 seconds", Fraction(7, 32)),
        ("15/32", Fraction(15, 32)),
        ("155", 155),
        ("9" * 20, int("9" * 20)),
    ],
)
def test_the_likeliest_reading_of_all_words_is(text: str, value: int | Fraction) -> None:
    readings = whole_readings(text)
    assert readings
    assert readings[0].value == value


@pytest.mark.parametrize(
    ("text", "rivals"),
    [
        ("30,000", {30_000, Fraction(30, 1000)}),
        ("thirty thousand", {30_000, Fraction(30, 1000)}),
        ("thirty one thousands", {Fraction(31, 1000)}),
        ("1.55", {Fraction(155, 100), 155}),
        ("1:55", {155}),
        ("0.0 31", {Fraction(31, 1000)}),
        ("1 55", {155}),
        ("one three eighths", {Fraction(11, 8)}),
    ],
)
def test_what_recognisers_misprint_is_offered_beside_what_stands_there(
    text: str, rivals: set[int | Fraction]
) -> None:
    assert rivals <= {reading.value for reading in whole_readings(text)}


def test_every_shorter_number_is_offered_too() -> None:
    tokens = tokenize("two twenty eight")
    assert {(r.value, r.end) for r in numbers_at(tokens, 0)} >= {(228, 3), (220, 2), (2, 1)}
    assert {(r.value, r.end) for r in numbers_at(tokens, 1)} == {(28, 3), (20, 2)}


def test_seven_thirty_seconds_may_be_a_time() -> None:
    tokens = tokenize("seven thirty seconds")
    assert {(r.value, r.end) for r in numbers_at(tokens, 0)} >= {(Fraction(7, 32), 3), (730, 2), (7, 1)}


def test_parts_name_the_scale_that_goes_unsaid() -> None:
    scales = {
        text: whole_readings(text)[0].scale for text in ("two tenths", "forty hundredths", "9 thousandths")
    }
    assert scales == {
        "two tenths": "tenths", "forty hundredths": "hundredths", "9 thousandths": "thousandths",
    }  # fmt: skip


def test_trailing_zeros_are_kept_as_said() -> None:
    reading = whole_readings("one point three seven five oh")[0]
    assert (reading.digits, reading.places) == ("13750", 4)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("one three seven four five", Fraction(13745, 10_000)),
        ("oh three one", Fraction(31, 1000)),
        ("zero zero one five", Fraction(15, 10_000)),
        ("nine forty eight", Fraction(948, 100)),
        ("nine forty four and a half", Fraction(9445, 1000)),
        ("13745", Fraction(13745, 10_000)),
        ("thirty one", Fraction(31, 1000)),
    ],
)
def test_an_unsaid_point_can_be_placed(text: str, value: Fraction) -> None:
    assert value in {
        placed.value for r in whole_readings(text) for placed in with_point_placed(r._replace(places=0))
    }


def test_leading_zeros_make_the_point_before_them_likeliest() -> None:
    placed = with_point_placed(whole_readings("oh three one")[0])
    assert min(placed[1:], key=lambda reading: reading.cost).value == Fraction(31, 1000)


def test_ordinals_are_kept_apart() -> None:
    assert {r.style for r in whole_readings("third") if r.value == 3} == {"ordinal"}
    assert whole_readings("3rd")[0].style == "ordinal"


@pytest.mark.parametrize(
    ("text", "end"), [("a couple of thou", 3), ("few microns", 1), ("couple thou", 1), ("thirty", None)]
)
def test_vague_numbers_have_no_value(text: str, end: int | None) -> None:
    assert vague_number_end(tokenize(text), 0) == end


@pytest.mark.parametrize("text", ["vane", "of", "point", "and a half", "-", "thousand", "M12", "…"])
def test_no_number_starts_at(text: str) -> None:
    assert not [r for r in numbers_at(tokenize(text), 0) if r.style != "article"]


@pytest.mark.parametrize(
    ("text", "yes"), [("thirty", True), ("30", True), ("½", True), ("a", False), ("oh", False)]
)
def test_words_of_numbers_are_told_from_others(text: str, yes: bool) -> None:
    assert is_number_word(tokenize(text)[0]) is yes


@given(st.text(max_size=120))
def test_no_text_raises(text: str) -> None:
    tokens = tokenize(text)
    for i in range(len(tokens)):
        for reading in numbers_at(tokens, i):
            assert i < reading.end <= len(tokens)


_WORDS = [
    "one",
    "two",
    "ten",
    "thirty",
    "hundred",
    "thousand",
    "million",
    "point",
    "oh",
    "zero",
    "nought",
    "and",
    "a",
    "an",
    "half",
    "quarter",
    "sixteenths",
    "thirty",
    "seconds",
    "thousandths",
    "double",
    "dozen",
    "minus",
    "plus",
    "3",
    "/",
    "8",
    "1.5",
    "30,000",
    "30,000ths",
    ".031",
    "½",
    "1:55",
    "-",
    ",",
    ".",
    "second",
    "third",
]


@given(st.lists(st.sampled_from(_WORDS), max_size=25))
def test_no_run_of_number_words_raises(words: list[str]) -> None:
    tokens = tokenize(" ".join(words))
    for i in range(len(tokens)):
        readings = numbers_at(tokens, i)
        assert len({(r.end, r.value, r.scale, r.places) for r in readings}) == len(readings)
        for reading in readings:
            assert i < reading.end <= len(tokens)
            with_point_placed(reading)


@pytest.mark.parametrize(
    "text", ["9" * 400, "0." + "3" * 400, "nine " * 400, "point " + "three " * 400, "9," + "999," * 200]
)
def test_numbers_of_four_hundred_digits_are_fine(text: str) -> None:
    tokens = tokenize(text)
    assert all(r.end <= len(tokens) for i in range(len(tokens)) for r in numbers_at(tokens, i))
