"""What the ear is likely to have heard otherwise is asked about; invented talk on the shipped sheets."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.record import ReadingEntry
from shared.speech import Utterance, Word

SPLIT, END = "wash-water-split-case", "wash-water-end-suction"


def last_reading(sheet: str, *lines: str, by_ear: bool = False) -> ReadingEntry:
    builder = RecordBuilder(sheet)
    for n, line in enumerate(lines):
        words = tuple(Word(word, 4.0 * n, 4.0 * n + 1, 0.99) for word in line.split()) if by_ear else ()
        builder.hear(Utterance(line, 4.0 * n, 4.0 * n + 3, confidence=0.99, words=words))
    return builder.record().readings[-1]


@pytest.mark.parametrize(
    ("said", "offered"),
    [
        ("shaft runout station one two hundred", {"0.2", "0.02"}),
        ("coupling gap three point two nought three and a half", {"3.2035"}),
        ("coupling gap three or a hundredths", {"3"}),
    ],
)
def test_what_sounds_like_another_value_is_asked_about(said: str, offered: set[str]) -> None:
    reading = last_reading(SPLIT, said)
    assert reading.needs_review
    assert reading.value is None
    assert offered <= {c.value_exact for c in reading.candidates}


@pytest.mark.parametrize(
    "said",
    ["shaft runout at the seal is thirty second", "shaft runout at the seal of thirty second now it's dry"],
)
def test_a_thirty_second_that_lost_its_article_is_no_thirty(said: str) -> None:
    reading = last_reading(END, said)
    assert (reading.needs_review, reading.value) == (True, None)
    assert {"0.03", "0.03125"} <= {c.value_exact for c in reading.candidates}


def test_a_second_place_with_a_value_of_its_own_is_no_fraction() -> None:
    builder = RecordBuilder(END)
    builder.hear(Utterance("shaft runout at the seal is thirty second one is three", 0.0, 3.0))
    first = builder.record().readings[0]
    assert (first.value_exact, first.needs_review) == ("0.03", False)


def test_a_half_without_its_number_is_asked_about() -> None:
    reading = last_reading(END, "shaft runout at the seal one thou coupling seal and a half")
    assert (reading.position, reading.needs_review, reading.value) == ("coupling_end", True, None)


def test_a_place_that_nobody_has_is_asked_about() -> None:
    reading = last_reading(SPLIT, "wear ring clearance point four two i have the non drive end")
    assert reading.needs_review
    assert not last_reading(SPLIT, "wear ring clearance point four two on the non drive end").needs_review


@pytest.mark.parametrize("said", ["shaft runout station one two hundredths", "coupling gap three point two"])
def test_what_sounds_like_nothing_else_stands(said: str) -> None:
    assert not last_reading(SPLIT, said).needs_review


def test_a_nought_lost_by_the_ear_is_asked_about_where_it_would_be_within_limits() -> None:
    heard = last_reading(SPLIT, "bearing journal drive end sixty five point one", by_ear=True)
    assert heard.needs_review
    assert {"65.1", "65.01"} <= {c.value_exact for c in heard.candidates}


def test_a_nought_that_would_make_a_value_finer_than_its_limits_was_not_lost() -> None:
    """65.121 mm, where 65.0121 would be within limits that are written to a thousandth."""
    heard = last_reading(SPLIT, "bearing journal drive end sixty five point one two one", by_ear=True)
    assert (heard.value_exact, heard.verdict, heard.needs_review) == ("65.121", "outside", False)


def test_a_written_value_out_of_limits_lost_no_nought() -> None:
    written = last_reading(SPLIT, "bearing journal drive end sixty five point one")
    assert "65.01" not in {c.value_exact for c in written.candidates}
    assert written.verdict == "outside"
