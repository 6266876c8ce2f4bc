"""Values that were put right with words that nobody understood."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from extract.stale_values import PUT_RIGHT
from shared.record import ReadingEntry
from shared.speech import Utterance

SHEET = "wash-water-end-suction"
VANES = "front clearance vane one eighteen thou vane two nineteen thou"
BOLT = "impeller bolt seventy foot pounds"


def readings(*said: str) -> list[ReadingEntry]:
    builder = RecordBuilder(SHEET)
    for number, text in enumerate(said):
        builder.hear(Utterance(text, number * 5.0, number * 5.0 + 3.0))
    return builder.record().readings


@pytest.mark.parametrize(
    ("first", "then", "asked"),
    [
        (VANES, "correction on vane two it's blurry", "0.019"),
        (VANES, "go back to vane two that was sixty seven hundred", "0.019"),
        (BOLT, "no correction the impeller bolt was heavens foot", "70"),
    ],
)
def test_what_was_put_right_and_not_understood_is_asked_about(first: str, then: str, asked: str) -> None:
    found = [entry for entry in readings(first, then) if entry.evidence.utterance == 0 and entry.needs_review]
    assert [(entry.value_exact, entry.reason, entry.verdict) for entry in found] == [
        (asked, PUT_RIGHT, "undecided")
    ]
    assert [candidate.words for candidate in found[0].candidates] == [None, then]


@pytest.mark.parametrize(
    "then",
    [
        "no make that sixty eight",
        "no the seal is cracked",
        "sorry i'll be two minutes",
        "no i said the book says sixty six to seventy four",
        "correction the casing bolts are corroded not the impeller bolt",
    ],
)
def test_what_was_put_right_and_understood_or_not_spoken_of_stays(then: str) -> None:
    first = readings(BOLT, then)[0]
    assert not first.needs_review


def test_should_be_behind_a_correction_or_before_a_denial_is_the_value_and_no_limit() -> None:
    for then in ("correction vane two should be twenty one", "vane two should be twenty one not nineteen"):
        found = readings(VANES, then)
        assert (found[-1].position, found[-1].value_exact, found[-1].needs_review) == ("2", "0.021", False)
        assert found[1].superseded_why == "corrected"
    assert len(readings(VANES, "vane two should be twenty one")) == 2
