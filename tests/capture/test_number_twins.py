"""Words that sound like small numbers, by the pronunciation dictionary."""

from __future__ import annotations

from pathlib import Path

from capture.vocabulary.number_twins import number_twins, twins_text

DATA = Path(__file__).parents[2] / "extract" / "number_twins.yaml"


def test_file_that_the_reader_uses_is_what_the_dictionary_gives() -> None:
    assert DATA.read_text("utf-8") == twins_text()


def test_no_number_is_the_twin_of_another() -> None:
    found = number_twins()
    numbers = set(found["same"])
    assert not numbers & {word for kind in found.values() for words in kind.values() for word in words}
