"""Steps said not to be done, the end of a job, and what takes back the last entry."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.record import RebuildRecord
from shared.speech import Utterance


def told(*lines: str) -> RebuildRecord:
    builder = RecordBuilder("wash-water-end-suction")
    for n, text in enumerate(lines):
        builder.hear(Utterance(text, 4.0 * n, 4.0 * n + 3.0))
    return builder.record()


@pytest.mark.parametrize(
    ("said", "left_out"),
    [
        ("decontamination was not done by operations", ["decontaminated"]),
        ("Isolation hasn't been verified by anyone.", ["isolation_verified"]),
        ("seal faces not cleaned yet", ["seal_faces_cleaned"]),
        ("if isolation was not verified you stop", []),
        ("was isolation not verified?", []),
        ("isolation is not a problem", []),
    ],
)
def test_a_step_denied_by_its_name_is_left_out(said: str, left_out: list[str]) -> None:
    assert [s.step for s in told(said).steps if not s.done] == left_out


@pytest.mark.parametrize(
    "said", ["finish", "okay that's all finish", "Please finish. Thank you.", "job is done, finish"]
)
def test_a_finish_that_stands_for_the_job_ends_it(said: str) -> None:
    assert [e.event for e in told(said).events] == ["finish"]


@pytest.mark.parametrize(
    "said",
    [
        "new lip seals finish",
        "new sleeve has a lovely finish",
        "i'll finish tomorrow",
        "don't close it up yet",
        "should i close it up",
    ],
)
def test_a_finish_behind_something_else_ends_nothing(said: str) -> None:
    assert told(said).events == []


@pytest.mark.parametrize(
    "order",
    ["let me scratch the last one", "please take out that last reading", "forget what i said just now"],
)
def test_the_last_entry_is_struck(order: str) -> None:
    (reading,) = told("end play one and a half thou", order).readings
    assert reading.superseded_why == "struck"


@pytest.mark.parametrize(
    ("said", "of"),
    [
        ("make please a photo from the stationary seat", ["stationary_seat"]),
        ("he has a photo from last week", []),
    ],
)
def test_a_photo_from_a_part_is_one_of_it(said: str, of: list[str]) -> None:
    assert [e.part for e in told(said).events] == of
