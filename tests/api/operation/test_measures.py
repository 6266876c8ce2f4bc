"""What is counted of recordings; the text is read back by Prometheus's own parser."""

from __future__ import annotations

from prometheus_client import generate_latest

from api.operation.measures import Measures, counts_of
from shared.record import RebuildRecord
from tests.api.operation.measured import samples


def values(measures: Measures) -> dict[str, float]:
    return samples(generate_latest(measures.registry).decode())


def test_questions_to_100_readings_are_over_all_recordings() -> None:
    measures = Measures()
    measures.recorded("pocketsphinx", {"readings": 0, "questions": 1})
    assert "witnessmark_questions_per_100_readings pocketsphinx" not in values(measures)
    measures.recorded("pocketsphinx", {"readings": 30, "questions": 4})
    measures.recorded("pocketsphinx", {"readings": 10, "questions": 1})
    measures.recorded("whisper", {"readings": 10, "questions": 0})
    found = values(measures)
    assert found["witnessmark_readings_total pocketsphinx"] == 40
    # 6 of 40, by hand.
    assert found["witnessmark_questions_per_100_readings pocketsphinx"] == 15
    assert found["witnessmark_questions_per_100_readings whisper"] == 0


def test_a_recording_counts_what_it_made_and_what_stands(record: RebuildRecord) -> None:
    for one in record.readings[:2]:
        one.evidence.recording = "001"
    # Of thirteen readings one is corrected and two are of another recording of the job; one question is open.
    assert counts_of(record, "rebuild.ogg") == {"readings": 10, "questions": 1}
    assert counts_of(record, "001") == {"readings": 2, "questions": 0}
    record.questions[0].answered_by = "u20"
    assert counts_of(record, "rebuild.ogg")["questions"] == 0


def test_a_stage_is_counted_in_the_bucket_that_its_seconds_fit_into() -> None:
    measures = Measures()
    for seconds in (0.004, 0.2, 3.0):
        measures.took("hearing", seconds)
    found = values(measures)
    most = ("0.005", "0.25", "2.0", "4.0")
    # Buckets hold all that took at most so long.
    assert [found[f"witnessmark_stage_seconds_bucket {one} hearing"] for one in most] == [1, 2, 2, 3]
    assert found["witnessmark_stage_seconds_count hearing"] == 3
