"""A sure reading does not outlive a second measuring that was not heard surely."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.record import ReadingEntry, RebuildRecord
from shared.speech import Utterance

SHEET = "wash-water-end-suction"
FIRST = "front clearance vane one nineteen vane two eighteen vane three twenty"


def told(*heard: Utterance) -> RebuildRecord:
    builder = RecordBuilder(SHEET)
    for utterance in heard:
        builder.hear(utterance)
    return builder.record()


def said(words: str, at_s: float, confidence: float = 1.0, **more: object) -> Utterance:
    return Utterance(words, at_s, at_s + 4.0, confidence, **more)  # type: ignore[arg-type]


def standing(record: RebuildRecord, position: str) -> list[ReadingEntry]:
    return [
        r for r in record.readings if (r.item, r.position) == ("front_clearance", position) and r.standing
    ]


@pytest.mark.parametrize(
    "second",
    [
        said("vane two again sixteen or seventeen", 10.0),
        said("vane two again sixteen", 10.0, 0.3),
        said("vane two is sixteen", 10.0, alternatives=("vane two is sixty",)),
        said("go back to vane two that was sixteen", 10.0, job_score=-0.05),
    ],
)
def test_a_doubtful_second_measuring_asks_with_both_values(second: Utterance) -> None:
    record = told(said(FIRST, 0.0), second)
    (entry,) = standing(record, "2")
    assert entry.needs_review
    assert {"0.016", "0.018"} <= {c.value_exact for c in entry.candidates}
    assert entry.value is None
    (question,) = record.questions
    assert "16 thou" in question.text
    assert "18 thou" in question.text
    (first,) = [r for r in record.readings if r.position == "2" and not r.standing]
    assert (first.superseded_by, first.superseded_why) == (entry.id, "measured_again")
    assert all(not r.needs_review for n in "13" for r in standing(record, n))


def test_a_doubtful_hearing_of_the_same_value_leaves_it_sure() -> None:
    record = told(said(FIRST, 0.0), said("vane two again about eighteen", 10.0))
    assert any(not r.needs_review and r.value_exact == "0.018" for r in standing(record, "2"))


def test_a_round_measured_again_at_places_not_understood_leaves_all_of_it_open() -> None:
    record = told(said(FIRST, 0.0), said("front clearance measured again sixteen", 10.0))
    assert all(r.needs_review and r.value_exact for n in "123" for r in standing(record, n))
    assert all(r.verdict == "undecided" for n in "123" for r in standing(record, n))


def test_what_is_measured_surely_again_stands_without_a_question() -> None:
    record = told(said(FIRST, 0.0), said("vane two again sixteen", 10.0))
    assert [(r.value_exact, r.needs_review) for r in standing(record, "2")] == [("0.016", False)]
    assert record.questions == []
