"""Work order, tag and serial: how they are said, whose they are, and how sure."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from shared.record import RebuildRecord
from shared.speech import Utterance


def told(text: str, *alternatives: str) -> RebuildRecord:
    builder = RecordBuilder("wash-water-end-suction")
    builder.hear(Utterance(text, 0.0, 3.0, alternatives=alternatives))
    return builder.record()


@pytest.mark.parametrize(
    ("said", "tag"),
    [
        ("and the tag on her says w p three one four", "WP314"),
        ("And the tag on her says WP-314.", "WP-314"),
        ("pump number s l zero two", "SL02"),
        ("it's pump w w two oh three", "WW203"),
        ("pump number two is running", None),
        ("it's pump two", None),
        ("took the bearing from pump w two oh three", None),
        ("put it on the pump a three inch pipe", None),
    ],
)
def test_a_tag_is_that_of_the_pump_on_the_bench(said: str, tag: str | None) -> None:
    assert told(said).job.pump_tag == tag


def test_a_serial_stands_behind_the_place_that_it_is_stamped_on() -> None:
    assert told("serial number stamped on the casing is charlie five five oh nine").job.pump_serial == "C5509"


@pytest.mark.parametrize(
    ("said", "asked"),
    [
        ("serial's about wore off looks like eight eight two three f", "pump serial 8823F?"),
        ("maybe serial number five five oh one", "pump serial 5501?"),
        ("serial number four four oh or maybe four four nine", "pump serial 440 or 449?"),
        ("Work order, I think, is 40512.", "work order 40512?"),
    ],
)
def test_an_identifier_said_with_doubt_is_asked_about_and_fills_nothing(said: str, asked: str) -> None:
    record = told(said)
    assert (record.job.pump_serial, record.job.work_order) == (None, None)
    assert [q.text for q in record.questions] == [asked]


def test_an_identifier_heard_in_two_ways_is_asked_about_and_fills_nothing() -> None:
    record = told("serial number four four oh nine", "serial number four four five nine", "serial number oh")
    assert record.job.pump_serial is None
    assert [q.text for q in record.questions] == ["pump serial 4409 or 4459?"]


def test_an_identifier_that_other_hearings_do_not_contradict_stands() -> None:
    assert told("serial number four four oh nine", "", "see the number").job.pump_serial == "4409"
