"""Numbers in talk taken for chatter: asked about where an open item awaits one, never lost in silence."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.record import RebuildRecord
from shared.speech import Utterance

SHEET = "wash-water-end-suction"
SPLIT = "wash-water-split-case"
Line = str | tuple[str, float]
"""What is said, and the engine's score of it."""


def told(sheet: str, *lines: Line) -> RecordBuilder:
    builder = RecordBuilder(sheet)
    for n, line in enumerate(lines):
        words, score = (line, None) if isinstance(line, str) else line
        builder.hear(Utterance(words, 6.0 * n, 6.0 * n + 4.0, job_score=score))
    return builder


def asked(record: RebuildRecord, at: int) -> set[tuple[str, str | None]]:
    return {(r.item, r.position) for r in record.readings if r.evidence.utterance == at and r.needs_review}


@pytest.mark.parametrize(
    ("sheet", "lines", "place", "offered"),
    [
        # The place was misheard as a part, the number fits what is being measured.
        (SHEET, ("front clearance vane one nineteen", ("and the sun only seventeen", 0.2)),
         ("front_clearance", None), "0.017"),
        # Much is said between a place and its figure.
        (SHEET, ("shaft runout impeller end two tenths",
                 ("coupling end's got a scratch from that rotten puller three tenths", 0.4)),
         ("shaft_runout", "coupling_end"), "0.0003"),
        # The engine is in two minds, the words speak of reading it.
        (SHEET, ("seal setting about one inch", ("let me read it properly one point oh one", -0.1)),
         ("seal_setting", None), "1.01"),
        # No item was talked about, but exact figures at a place that few items have.
        (SPLIT, (("ring bar non drive end one sixty point oh one", 0.6),),
         ("ring_bore", "non_drive_end"), "160.01"),
        # Without an engine's score: exact figures, within the limits, and a word of measuring.
        (SHEET, ("seal setting ninety nine hundredths of an inch",
                 "my mate nudges the collar along so now it measures one oh one two"),
         ("seal_setting", None), "1.012"),
    ],
)  # fmt: skip
def test_a_number_that_an_open_item_awaits_is_asked_about(
    sheet: str, lines: tuple[Line, ...], place: tuple[str, str | None], offered: str
) -> None:
    builder = told(sheet, *lines)
    record = builder.record()
    assert asked(record, len(lines) - 1) == {place}
    (entry,) = [r for r in record.readings if r.evidence.utterance == len(lines) - 1]
    assert offered in {c.value_exact for c in entry.candidates}
    assert entry.value is None
    assert builder.talk_of(len(lines) - 1) == "job"


@pytest.mark.parametrize(
    "talk",
    [
        ("did anybody see my ten mil socket", 0.3),
        ("we won eighteen to twelve last night what a game that was", 0.1),
        ("he wants eighteen for it and the clutch is gone", 0.1),
        ("give me ten minutes", 0.2),
        ("eighteen to twenty four is what the book gives", 0.3),
        ("is eighteen the limit i think so", 0.3),
        ("she has eighteen cats and every one of them hungry", 0.3),
        ("so eighteen went home", -0.6),
        "the canteen charges eighteen for a plate of chips now",
        "you'd want eighteen of those to fill a van",
    ],
)
def test_chatter_with_a_fitting_number_asks_nothing(talk: Line) -> None:
    builder = told(SHEET, "front clearance vane one nineteen", talk)
    assert builder.talk_of(1) == "chatter"
    assert builder.record().questions == []


def test_a_breath_that_is_nothing_but_a_number_is_asked_about_even_where_it_fits_nothing() -> None:
    record = told(SHEET, "front clearance vane one nineteen", ("nineteen sixty", 0.1)).record()
    assert asked(record, 1) == {("front_clearance", None)}


def test_exact_figures_that_are_a_limit_are_recited() -> None:
    record = told(
        SHEET,
        "bearing journal outboard one point seven seven one six",
        "one seven seven one five is where you toss it",
    )
    assert asked(record.record(), 1) == set()


def test_a_question_offers_its_value_also_where_the_place_is_unknown() -> None:
    record = told(SHEET, "front clearance vane one nineteen", ("and the sun only seventeen", 0.2)).record()
    assert [q.text for q in record.questions] == ["front clearance: 17 thou, at which position?"]


def test_what_was_asked_about_is_made_again_from_what_was_kept() -> None:
    lines = (
        "front clearance vane one nineteen",
        ("and the sun only seventeen", 0.2),
        ("nineteen sixty", 0.1),
    )
    first = told(SHEET, *lines)
    again = RecordBuilder(SHEET)
    for n in range(len(lines)):
        again.hear(first.kept(n))
    assert again.record() == first.record()
