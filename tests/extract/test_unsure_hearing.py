"""A value that was not heard surely enough is asked about: surer in noise, and surer out of limits."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import ReadingEntry
from shared.speech import Utterance, Word

WITHIN, OUTSIDE = "end play three thou", "end play twelve thou"


def read(text: str, confidence: float, *, noisy: bool) -> ReadingEntry:
    words = tuple(Word(w, n * 0.4, n * 0.4 + 0.4, confidence) for n, w in enumerate(text.split()))
    builder = RecordBuilder(load_job_sheet("wash-water-end-suction"))
    builder.hear(Utterance(text, 0.0, 3.0, confidence, words, noisy=noisy))
    (entry,) = builder.record().readings
    return entry


@pytest.mark.parametrize(
    ("text", "confidence", "noisy", "asked"),
    [
        (WITHIN, 0.7, False, False),
        (WITHIN, 0.94, True, True),
        (WITHIN, 0.96, True, False),
        (OUTSIDE, 0.96, False, False),
        (OUTSIDE, 0.89, False, True),
        (OUTSIDE, 1.0, True, True),
    ],
)
def test_how_sure_a_value_must_be(text: str, confidence: float, noisy: bool, asked: bool) -> None:
    entry = read(text, confidence, noisy=noisy)
    assert entry.needs_review == asked
    assert entry.value_exact is not None  # to be confirmed, not lost


def test_the_question_names_the_noise() -> None:
    builder = RecordBuilder(load_job_sheet("wash-water-end-suction"))
    builder.hear(Utterance(WITHIN, 0.0, 3.0, 0.8, noisy=True))
    (question,) = builder.record().questions
    assert "noise" in question.text
