"""Which value stands, to be confirmed, where the ear heard a number in several ways."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import ReadingEntry
from shared.speech import Utterance, Word

#: End play is wanted from two to four thou.
WITHIN, OUTSIDE, FAR = "end play three thou", "end play eight thou", "end play nine thou"


def read(text: str, *others: str, noisy: bool = True, score: float = 1.0) -> ReadingEntry:
    """Return the one reading of an utterance that an ear heard, in noise unless said, and in other ways."""
    said = tuple(Word(w, n * 0.4, n * 0.4 + 0.4, 0.97) for n, w in enumerate(text.split()))
    builder = RecordBuilder(load_job_sheet("wash-water-end-suction"))
    builder.hear(Utterance(text, 0.0, 3.0, 0.97, said, alternatives=others, job_score=score, noisy=noisy))
    (entry,) = builder.record().readings
    return entry


@pytest.mark.parametrize(
    ("text", "other", "value"),
    [
        (WITHIN, OUTSIDE, "0.003"),
        (OUTSIDE, WITHIN, "0.003"),
        (WITHIN, "end play two thou", "0.003"),  # both within: as heard first
        (OUTSIDE, FAR, None),
    ],
)
def test_the_first_value_within_limits_leads(text: str, other: str, value: str | None) -> None:
    entry = read(text, other)
    assert (entry.value_exact, entry.needs_review, entry.verdict) == (value, True, "undecided")
    assert len(entry.candidates) == 2  # both are asked about


def test_a_value_that_only_another_hearing_gives_is_to_be_confirmed() -> None:
    entry = read("end play we so", WITHIN)
    assert (entry.value_exact, entry.needs_review) == ("0.003", True)
    assert read("end play we so", OUTSIDE).value_exact is None


def test_so_is_one_that_the_engine_took_for_talk_beside_the_job() -> None:
    entry = read(WITHIN, score=-0.05)
    assert (entry.value_exact, entry.needs_review) == ("0.003", True)


def test_what_the_words_leave_open_stays_open() -> None:
    entry = read("end play three or four thou", "end play three or nine thou")
    assert (entry.value_exact, entry.needs_review) == (None, True)


def test_in_quiet_no_limit_tells_two_hearings_apart() -> None:
    entry = read(WITHIN, OUTSIDE, noisy=False)
    assert (entry.value_exact, entry.needs_review) == (None, True)
    assert len(entry.candidates) == 2


def test_a_nought_that_brings_a_value_within_limits_leads() -> None:
    said = "bearing journal drive end sixty five point one"
    words = tuple(Word(w, n * 0.4, n * 0.4 + 0.4, 0.99) for n, w in enumerate(said.split()))
    builder = RecordBuilder(load_job_sheet("wash-water-split-case"))
    builder.hear(Utterance(said, 0.0, 3.0, 0.99, words, noisy=True))
    (entry,) = builder.record().readings
    assert (entry.value_exact, entry.needs_review, entry.verdict) == ("65.01", True, "undecided")
