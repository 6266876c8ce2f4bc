"""Small words that sound like numbers: asked about where the word would be idle."""

from __future__ import annotations

from pathlib import Path

import pytest

from extract.record_builder import RecordBuilder
from shared.record import ReadingEntry
from shared.speech import Utterance

DUST_FAN = Path(__file__).parent / "data" / "dust-fan.yaml"


def last_reading(sheet: str | Path, *said: str) -> ReadingEntry:
    builder = RecordBuilder(sheet)
    for number, text in enumerate(said):
        builder.hear(Utterance(text, number * 5.0, number * 5.0 + 3.0))
    return builder.record().readings[-1]


def test_number_behind_a_small_word_that_sounds_like_one_is_asked_about() -> None:
    reading = last_reading(DUST_FAN, "inlet cone gap", "left to eighty")
    assert reading.needs_review
    assert {"0.08", "0.28"} <= {candidate.value_exact for candidate in reading.candidates}


@pytest.mark.parametrize(
    ("said", "value"),
    [
        ("lock screws torqued to twenty three", "23"),
        ("impeller bolt to seventy", "70"),
        ("vane one to eighteen thou", "0.018"),
    ],
)
def test_preposition_before_a_number_stays_one(said: str, value: str) -> None:
    reading = last_reading("wash-water-end-suction", "front clearance", said)
    assert (reading.value_exact, reading.needs_review) == (value, False)
