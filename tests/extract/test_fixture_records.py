"""The demo's narrations give exactly the records that were written by hand from them."""

from __future__ import annotations

import pytest

from fixtures.narration_files import REBUILDS, VIDEO, read_expected, read_narration, utterance_of
from shared.speech import Utterance
from tests.extract.record_comparison import Comparison, told


@pytest.mark.parametrize("printed", [False, True], ids=["words", "print"])
@pytest.mark.parametrize("name", [*REBUILDS, VIDEO])
def test_narration_gives_its_expected_record(name: str, printed: bool) -> None:
    lines = read_narration(name, printed=printed)
    expected = read_expected(name)
    builder = told(expected["sheet"], lines)
    comparison = Comparison(
        builder, expected, lambda words: utterance_of(name, words), [line.text for line in lines]
    )
    assert comparison.differences == []


@pytest.mark.parametrize("name", [*REBUILDS, VIDEO])
def test_record_is_asked_for_at_any_time_and_the_same_talk_gives_the_same_bytes(name: str) -> None:
    sheet, lines = read_expected(name)["sheet"], read_narration(name)
    asked_once, asked_always = told(sheet, lines), told(sheet, lines[:0])
    now_s = 0.0
    for line in lines:
        asked_always.hear(Utterance(line.text, now_s, now_s + 3.0))
        asked_always.record()
        now_s += 3.0 + line.pause_s
    assert asked_once.record().to_json() == asked_always.record().to_json()
    assert asked_once.record().to_json() == asked_once.record().to_json()
