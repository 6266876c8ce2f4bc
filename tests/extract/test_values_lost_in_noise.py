"""A value that noise hid, or that a word hardly heard would exclude, is asked about."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.record import RebuildRecord
from shared.speech import Utterance, Word


def heard(text: str, unsure: str = "", *, noisy: bool = True) -> RebuildRecord:
    """Return the record of one utterance in which the words of ``unsure`` were hardly heard."""
    words = tuple(
        Word(w, n * 0.4, n * 0.4 + 0.4, 0.3 if w in unsure.split() else 0.99)
        for n, w in enumerate(text.split())
    )
    builder = RecordBuilder(load_job_sheet("wash-water-end-suction"))
    builder.hear(Utterance(text, 0.0, 5.0, 0.99, words, noisy=noisy))
    return builder.record()


@pytest.mark.parametrize(
    ("text", "unsure"), [("she'll end play three thou", "she'll"), ("should end play three thou", "should")]
)
def test_a_plan_hardly_heard_keeps_no_value_out(text: str, unsure: str) -> None:
    (entry,) = heard(text, unsure).readings
    assert entry.needs_review
    assert [c.value_exact for c in entry.candidates] == ["0.003"]
    assert not heard(text, unsure).unfiled_numbers
    assert not heard(text).readings  # heard clearly it is a plan
    assert heard(text).unfiled_numbers


def test_a_place_whose_value_was_not_heard_is_asked_for() -> None:
    record = heard("front clearance vane one eighteen thou vane two as that", "as that")
    asked = [r for r in record.readings if r.position == "2"]
    assert [(r.value_exact, r.needs_review) for r in asked] == [(None, True)]


@pytest.mark.parametrize(
    ("text", "unsure", "noisy", "asked"),
    [
        ("end play is we the", "we the", True, True),
        ("end play is we the", "we the", False, False),
        ("check the end play next", "", True, False),
    ],
)
def test_an_item_without_a_number_is_asked_about_in_noise_only(
    text: str, unsure: str, noisy: bool, asked: bool
) -> None:
    record = heard(text, unsure, noisy=noisy)
    assert bool(record.questions) == asked
    assert all(r.value_exact is None for r in record.readings)


@pytest.mark.parametrize("verb", ["got to", "got up to", "came to", "went to"])
def test_a_figure_that_was_reached_is_read(verb: str) -> None:
    (entry,) = heard(f"bearing temperature {verb} one hundred and forty degrees", noisy=False).readings
    assert entry.value_exact == "140"


def test_what_has_got_to_be_done_is_not_read() -> None:
    assert not heard("end play got to be three thou", noisy=False).readings


@pytest.mark.parametrize(
    ("text", "unsure", "asked"),
    [
        ("end play three thou gland nuts as age", "as age", ["gland_nut_torque"]),
        ("end play we the gland nuts twelve foot pounds", "we the", ["end_play"]),
        ("end play three thou gland nuts twelve foot pounds", "", []),
        ("end play three thou then the gland nuts go on with that", "that", []),
    ],
)
def test_an_item_of_a_list_that_got_no_value_is_asked_for(text: str, unsure: str, asked: list[str]) -> None:
    empty = [r for r in heard(text, unsure).readings if r.value_exact is None]
    assert [r.item for r in empty if r.needs_review] == asked
    assert not [r for r in heard(text, unsure, noisy=False).readings if r.value_exact is None]
