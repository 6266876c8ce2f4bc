"""What another hearing of the same sound does to a reading: two texts in, sure or a question out."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.record import ReadingEntry
from shared.speech import Utterance

VANE = "front clearance vane one eighteen thou"


def readings(said: str, *others: str, before: str = "") -> list[ReadingEntry]:
    builder = RecordBuilder("wash-water-end-suction")
    if before:
        builder.hear(Utterance(before, 0.0, 2.0))
    builder.hear(Utterance(said, 3.0, 6.0, alternatives=others))
    return [r for r in builder.record().readings if r.standing]


def only(said: str, *others: str) -> ReadingEntry:
    (reading,) = readings(said, *others)
    return reading


@pytest.mark.parametrize(
    "other",
    [
        VANE,
        "Front clearance, vane 1: 0.018.",
        "front clearance vane 1 18 thou",
        "front clearance vane one point oh one eight",
        "front clearance vane one eighteen thousandths",
        "from clarence vane one eighteen thou",
        "eighteen thou",
    ],
)
def test_one_value_in_other_words_is_no_doubt(other: str) -> None:
    assert (only(VANE, other).value_exact, only(VANE, other).needs_review) == ("0.018", False)
    if "front clearance" in other.lower():
        assert (only(other, VANE).value_exact, only(other, VANE).needs_review) == ("0.018", False)


@pytest.mark.parametrize(
    ("other", "value"),
    [
        ("front clearance vane one nineteen thou", "0.019"),
        ("Front clearance, vane 1, 0.019", "0.019"),
        ("front clearance vane one eighty thou", "0.08"),
    ],
)
def test_another_value_is_a_question_with_both(other: str, value: str) -> None:
    reading = only(VANE, other)
    assert (reading.needs_review, reading.value, reading.verdict) == (True, None, "undecided")
    assert [float(c.value_exact or 0) for c in reading.candidates] == [0.018, float(value)]


def test_another_position_is_a_question_with_both() -> None:
    reading = only(VANE, "front clearance vane five eighteen thou")
    assert reading.needs_review
    assert {c.position for c in reading.candidates} == {"1", "5"}


@pytest.mark.parametrize(
    "other", ["", "front clearance vane one a teen though", "back clearance eighteen thou", "thank you"]
)
def test_a_number_that_only_one_hearing_gives_to_this_item_is_a_question(other: str) -> None:
    reading = only(VANE, other)
    assert (reading.needs_review, reading.verdict) == (True, "undecided")
    assert reading.reason == "another hearing does not give it"
    assert [c.value_exact for c in reading.candidates] == ["0.018"]


def test_a_reading_that_only_the_other_hearing_gives_is_asked_about() -> None:
    reading = only("front clearance vane one a teen though", VANE)
    assert (reading.needs_review, reading.value) == (True, None)
    assert [c.value_exact for c in reading.candidates] == ["0.018"]


def test_so_it_is_where_only_the_position_is_said_with_it() -> None:
    got = {r.position: r for r in readings("vane two an inkling now", "vane two nineteen thou", before=VANE)}
    assert (got["1"].value_exact, got["1"].needs_review) == ("0.018", False)
    assert (got["2"].needs_review, got["2"].value) == (True, None)


def test_a_second_hearing_does_not_undo_a_correction() -> None:
    builder = RecordBuilder("wash-water-end-suction")
    builder.hear(Utterance(VANE, 0.0, 2.0))
    builder.hear(Utterance("no make that nineteen", 3.0, 5.0, alternatives=("No, make that 19.",)))
    (reading,) = [r for r in builder.record().readings if r.standing]
    assert (reading.value_exact, reading.needs_review) == ("0.019", False)
