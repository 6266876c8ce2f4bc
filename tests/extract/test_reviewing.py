"""What a reviewer decides is applied, judged again, and takes nothing away that was said."""

from __future__ import annotations

from typing import Any

import pytest

from extract.record_builder import RecordBuilder
from extract.reviewing import Decision, Kind, deviation_key, reviewed
from shared.errors import DecisionRefused
from shared.job_sheet import load_job_sheet
from shared.record import RebuildRecord
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")
SAID = (
    "front clearance vane one is sixty thou",
    "vane two eighteen thou",
    "vane three thirteen or thirty thou",
    "the rotating face is chipped",
    "the rotating face is reused",
)


@pytest.fixture
def record() -> RebuildRecord:
    builder = RecordBuilder(SHEET)
    for number, words in enumerate(SAID):
        builder.hear(Utterance(words, 4.0 * number, 4.0 * number + 3))
    return builder.record()


def decide(number: int, kind: Kind, entry: str, **fields: Any) -> Decision:
    return Decision(number, kind, entry, fields, "Ines Holm (ines)", "2026-03-04T12:00:00+00:00")


def reading(record: RebuildRecord, position: str) -> str:
    return next(one.id for one in record.readings if one.position == position)


def test_no_decision_leaves_the_record_as_it_is(record: RebuildRecord) -> None:
    assert reviewed(record, SHEET, []).to_json() == record.to_json()


def test_a_correction_keeps_the_original_and_is_judged_by_the_same_rules(record: RebuildRecord) -> None:
    before = record.to_json()
    one = reading(record, "1")
    after = reviewed(record, SHEET, [decide(1, "corrected", one, value_exact="0.016")])
    original = next(r for r in after.readings if r.id == one)
    corrected = next(r for r in after.readings if r.id == original.superseded_by)
    assert (original.value, original.superseded_why) == (0.06, "corrected")
    assert (corrected.value, corrected.value_exact, corrected.verdict) == (0.016, "0.016", "within")
    assert (corrected.evidence.words, corrected.evidence.rule) == (SAID[0], "review")
    assert [d.kind for d in record.deviations if d.item == "front_clearance"] == ["out_of_tolerance"]
    assert [d for d in after.deviations if d.item == "front_clearance"] == []
    assert record.to_json() == before


def test_a_corrected_position_changes_what_is_missing(record: RebuildRecord) -> None:
    after = reviewed(record, SHEET, [decide(1, "corrected", reading(record, "2"), position="5")])
    missing = {m.position for m in after.missing if m.item == "front_clearance"}
    assert "2" in missing
    assert "5" not in missing


def test_a_question_is_answered_by_the_decision(record: RebuildRecord) -> None:
    unsure = reading(record, "3")
    assert [q for q in record.questions if q.about == unsure and q.answered_by is None]
    after = reviewed(record, SHEET, [decide(1, "corrected", unsure, value_exact="0.013")])
    assert [q for q in after.questions if q.about == unsure and q.answered_by is None] == []
    assert not next(r for r in after.readings if r.position == "3" and r.standing).needs_review


def test_what_is_struck_no_longer_counts(record: RebuildRecord) -> None:
    after = reviewed(record, SHEET, [decide(1, "struck", reading(record, "1"))])
    assert [d for d in after.deviations if d.item == "front_clearance"] == []
    assert next(r for r in after.readings if r.position == "1").superseded_by == "review1"


def test_the_last_decision_about_an_entry_stands(record: RebuildRecord) -> None:
    one = reading(record, "1")
    decisions = [decide(1, "struck", one), decide(2, "corrected", one, value_exact="0.017")]
    after = reviewed(record, SHEET, decisions)
    assert [r.value for r in after.readings if r.position == "1" and r.standing] == [0.017]


def test_a_deviation_is_disposed_of_with_who_when_and_why(record: RebuildRecord) -> None:
    key = deviation_key(next(d for d in record.deviations if d.item == "front_clearance"))
    after = reviewed(
        record, SHEET, [decide(1, "disposed", key, disposition="rework", why="shim and set again")]
    )
    disposed = next(d for d in after.deviations if d.disposition)
    assert (disposed.disposition, disposed.disposition_why) == ("rework", "shim and set again")
    assert disposed.disposition_by == "Ines Holm (ines)"


def test_a_disposition_falls_with_its_deviation(record: RebuildRecord) -> None:
    key = deviation_key(next(d for d in record.deviations if d.item == "front_clearance"))
    decisions = [
        decide(1, "disposed", key, disposition="use_as_is", why="x"),
        decide(2, "struck", reading(record, "1")),
    ]
    assert [d for d in reviewed(record, SHEET, decisions).deviations if d.disposition] == []


@pytest.mark.parametrize(
    ("kind", "position", "fields", "what"),
    [
        ("corrected", "1", {"value_exact": "a lot"}, "is no number"),
        ("corrected", "1", {"item": "nothing"}, "measures no 'nothing'"),
        ("corrected", "1", {"position": "77"}, "has no position '77'"),
        ("corrected", "1", {"stage": "never"}, "stage has value 'never'"),
        ("corrected", "1", {"evidence": {}}, "evidence cannot be corrected"),
        ("accepted", "3", {}, "without a value was accepted"),
        ("disposed", "1", {"disposition": "sell"}, "no disposition 'sell'"),
    ],
)
def test_what_cannot_be_decided_is_told_in_one_line(
    record: RebuildRecord, kind: Kind, position: str, fields: dict[str, Any], what: str
) -> None:
    entry = reading(record, position)
    if kind == "disposed":
        entry = deviation_key(next(d for d in record.deviations if d.item == "front_clearance"))
    with pytest.raises(DecisionRefused, match=what):
        reviewed(record, SHEET, [decide(1, kind, entry, **fields)])


def test_an_entry_that_is_not_there_cannot_be_judged(record: RebuildRecord) -> None:
    with pytest.raises(DecisionRefused, match="no entry 'x'"):
        reviewed(record, SHEET, [decide(1, "accepted", "x")])
