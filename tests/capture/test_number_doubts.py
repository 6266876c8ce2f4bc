"""How sure the number words of an utterance are, from all that may have been said."""

from __future__ import annotations

import pytest

from capture.engines.lattice import Heard
from capture.engines.number_doubts import (
    are_likeliest,
    in_numbers,
    is_well_formed,
    number_confidences,
    only_leaves_out,
)

HEARD = [
    Heard(0.80, "end play one thou and a half now"),
    Heard(0.15, "end play nine thou and half now"),
    Heard(0.05, "end play one thou and a half nine"),
]


def test_a_number_word_is_as_sure_as_the_paths_that_have_it() -> None:
    words = ["end", "play", "one", "thou", "and", "a", "half", "now"]
    sure = number_confidences(words, HEARD)
    assert sure == [None, None, *map(pytest.approx, (0.85, 1.0, 1.0, 0.95, 0.95)), None]


def test_little_words_within_a_number_are_as_sure_as_the_number() -> None:
    """Whether it was "half thou" or "half a thou" changes nothing."""
    heard = [Heard(0.6, "half thou"), Heard(0.4, "half a thou")]
    assert number_confidences(["half", "a", "thou"], heard) == pytest.approx([1.0, 1.0, 1.0])


def test_a_number_word_more_makes_its_neighbours_doubtful() -> None:
    heard = [Heard(0.7, "point one two"), Heard(0.3, "point one five two")]
    assert number_confidences(["point", "one", "two"], heard) == pytest.approx([1.0, 0.7, 0.7])


@pytest.mark.parametrize("heard", [[], [Heard(0.0, "two")]])
def test_nothing_is_said_of_numbers_that_nothing_is_known_of(heard: list[Heard]) -> None:
    assert number_confidences(["two", "bolts"], heard) == [None, None]


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("one point seven seven to one", "one point seven seven two one"),
        ("fifty nine point five to", "fifty nine point five two"),
        ("point oh for", "point oh four"),
        ("nought point five to one point seven", "nought point five to one point seven"),
        ("point five for the gap", "point five for the gap"),
        ("five to seven thou", "five to seven thou"),
        ("set it to two", "set it to two"),
    ],
)
def test_what_sounds_like_a_digit_is_one_inside_a_decimal(text: str, meant: str) -> None:
    assert in_numbers(text) == meant


@pytest.mark.parametrize(
    ("text", "well"),
    [
        ("two hundred and forty", True),
        ("a hundred and sixty point oh two", True),
        ("cover screws you hundred and forty", False),
        ("one point seven seven one point", False),
        ("that's the point of it", False),
        ("no number at all", True),
    ],
)
def test_a_number_that_lacks_what_it_needs_is_told(text: str, well: bool) -> None:
    assert is_well_formed(text) is well


@pytest.mark.parametrize(
    ("other", "less"),
    [(("ninety", "bar"), True), (("one", "ninety", "bar"), False), (("nine", "bar"), False), ((), True)],
)
def test_a_hearing_that_only_leaves_words_out_is_told(other: tuple[str, ...], less: bool) -> None:
    assert only_leaves_out(("one", "ninety", "bar"), other) is less


@pytest.mark.parametrize(
    ("text", "likeliest"),
    [
        ("point ninety pin two", False),
        ("point nine two pin two", True),
        ("point nine two ten two", False),
    ],
)
def test_numbers_are_likeliest_by_all_that_has_them(text: str, likeliest: bool) -> None:
    heard = [
        Heard(0.40, "point nine two pin two"),
        Heard(0.35, "a point nine two bin two"),
        Heard(0.20, "point ninety pin two"),
        Heard(0.05, "point nine two ten two"),
    ]
    assert are_likeliest(text, heard) is likeliest


def test_numbers_with_a_rival_nearly_as_likely_are_not_sure() -> None:
    heard = [Heard(0.62, "seven eight two output"), Heard(0.35, "seven eight oh output")]
    assert not are_likeliest("seven eight two output", heard)


def test_numbers_without_a_rival_are_likeliest() -> None:
    assert are_likeliest("two thou", [])
    assert are_likeliest("two thou", [Heard(0.5, "two thou"), Heard(0.5, "a two thou")])
