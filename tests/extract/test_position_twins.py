"""Positions heard as the words they sound like: put right where only they can be meant, else asked about."""

from __future__ import annotations

import pytest

from extract.position_twins import twins
from extract.record_builder import RecordBuilder
from shared.record import ReadingEntry
from shared.speech import Utterance, Word

SHEET = "wash-water-end-suction"


def readings(*said: str) -> list[ReadingEntry]:
    builder = RecordBuilder(SHEET)
    for number, text in enumerate(("front clearance", *said)):
        builder.hear(Utterance(text, number * 5.0, number * 5.0 + 3.0))
    return builder.record().readings


def sure(*said: str) -> dict[str | None, str | None]:
    return {entry.position: entry.value_exact for entry in readings(*said) if not entry.needs_review}


@pytest.mark.parametrize(
    ("said", "filed"),
    [
        (
            ["vane one nineteen to eighteen three seventeen for nineteen five eighteen"],
            {"1": "0.019", "2": "0.018", "3": "0.017", "4": "0.019", "5": "0.018"},
        ),
        (["1 is 19 to is 18 3 is 20"], {"1": "0.019", "2": "0.018", "3": "0.02"}),
        (["won is nineteen two is eighteen"], {"1": "0.019", "2": "0.018"}),
        (["one nineteen", "to fifteen", "three sixteen"], {"1": "0.019", "2": "0.015", "3": "0.016"}),
        (["two's eighteen", "tree's seventeen"], {"2": "0.018", "3": "0.017"}),
        (["vane to thirty"], {"2": "0.03"}),
        (["vane free is twenty"], {"3": "0.02"}),
        (["for is twenty one"], {"4": "0.021"}),
    ],
)
def test_position_that_nothing_else_can_be_is_put_right(said: list[str], filed: dict[str, str]) -> None:
    assert sure(*said) == filed


def test_repair_stands_in_the_evidence_of_its_reading() -> None:
    one, two = readings("vane one nineteen to eighteen")
    assert (one.evidence.repairs, two.evidence.repairs) == ([], ["to for two"])
    assert two.evidence.words == "vane one nineteen to eighteen"


@pytest.mark.parametrize(
    "said",
    [
        ["nineteen to twenty three"],
        ["one nineteen", "to twenty"],
        ["take the vane to twenty"],
        ["tree is twenty"],
        ["vane one seventeen to eighteen three nineteen for twenty"],
    ],
)
def test_range_and_words_of_their_own_make_no_position(said: list[str]) -> None:
    assert set(sure(*said)) <= {"1"}


def test_range_that_may_be_a_position_leaves_all_behind_it_asked_about() -> None:
    found = readings("vane one seventeen to eighteen three nineteen for twenty")
    assert all(entry.needs_review for entry in found)
    assert any("'to' may have been 'two'" in (entry.reason or "") for entry in found)


def test_item_without_positions_has_none_put_right() -> None:
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance("back clearance vane to forty", 0.0, 3.0))
    assert [(e.item, e.position) for e in builder.record().readings] == [("back_clearance", None)]


def test_confidence_is_that_of_the_words_heard() -> None:
    words = [("one", 0.9), ("nineteen", 0.9), ("to", 0.2), ("eighteen", 0.9)]
    timed = tuple(Word(text, float(n), n + 1.0, share) for n, (text, share) in enumerate(words))
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance("front clearance", 0.0, 1.0))
    builder.hear(Utterance("one nineteen to eighteen", 2.0, 6.0, 0.9, timed))
    two = builder.record().readings[-1]
    assert (two.position, two.needs_review, two.evidence.confidence) == ("2", True, 0.9)
    assert "not heard clearly" in (two.reason or "")


def test_twins_hold_what_sounds_alike_and_what_some_speakers_say() -> None:
    assert {twins("same")[word] for word in ("to", "too")} == {"two"}
    assert (twins("same")["for"], twins("near")["tree"], twins("near")["tin"]) == ("four", "three", "ten")
