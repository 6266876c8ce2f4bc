"""A part put back is a decision only where the sheet wants one; a lot said by itself is kept."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")


def heard(said: str) -> RecordBuilder:
    builder = RecordBuilder(SHEET)
    builder.hear(Utterance(said, 0.0, 3.0))
    return builder


@pytest.mark.parametrize(
    ("said", "done"),
    [
        # The sheet wants no decision about the casing and has no policy but to look at it.
        ("putting the casing back on", [("casing", "fitted")]),
        ("put the casing back on", [("casing", "fitted")]),
        ("casing cleaned up and going back on", [("casing", "cleaned"), ("casing", "reused")]),
        ("putting the same casing back on", [("casing", "reused")]),
        ("casing is going back on", [("casing", "reused")]),
        ("casing gets used again", [("casing", "reused")]),
        # It wants one about the impeller.
        ("putting the impeller back on", [("impeller", "reused")]),
        # It wants the seat renewed and the deflector reused: what was done is checked against that.
        ("seat is going back in", [("stationary_seat", "reused")]),
        ("putting the deflector back on", [("deflector", "reused")]),
    ],
)
def test_putting_back_decides_where_the_sheet_has_it_decided(said: str, done: list[tuple[str, str]]) -> None:
    assert [(p.part, p.action) for p in heard(said).record().parts] == done


@pytest.mark.parametrize(
    ("said", "text", "asked"),
    [
        ("inboard bearing lot number four four one seven", "inboard bearing: lot 4417", False),
        ("lot number b two two one for the seal", "seal: lot B221", False),
        ("lot number four four one seven", "lot 4417", True),
        ("the impeller and the seal lot number four four one seven", "lot 4417", True),
    ],
)
def test_a_lot_said_without_what_was_done_is_noted(said: str, text: str, asked: bool) -> None:
    record = heard(said).record()
    assert [(n.text, n.needs_review) for n in record.notes] == [(text, asked)]
    assert not record.parts
    assert not record.readings


@pytest.mark.parametrize("said", ["new seal lot number w two two", "he parked in lot number four"])
def test_a_lot_that_stands_with_its_part_or_is_none_makes_no_note(said: str) -> None:
    assert heard(said).record().notes == []
