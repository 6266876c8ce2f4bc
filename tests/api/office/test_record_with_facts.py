"""Gauges, witnesses, lots and people of the bench, laid into the record."""

from __future__ import annotations

from typing import Any

import pytest

from api.live.bench_facts import AFTER_ALL, BenchFacts, Place, facts_of
from api.live.facts_shown import facts_shown
from api.office.record_with_facts import besides_talk, with_facts
from api.signing.chain import Link
from extract.record_builder import RecordBuilder
from extract.reviewing import Decision, deviation_key, reviewed
from shared.job_sheet import load_job_sheet
from shared.record import RebuildRecord
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")


def record(*said: str) -> RebuildRecord:
    """One utterance every ten seconds."""
    builder = RecordBuilder(SHEET)
    for number, words in enumerate(said):
        builder.hear(Utterance(words, 10.0 * number, 10.0 * number + 3, recording="001"))
    return builder.record()


def facts(*events: tuple[str, str | None, dict[str, Any]]) -> BenchFacts:
    return facts_of(
        [
            Link(n, "2026-03-04T12:00:00.000+00:00", by, kind, told, "", "")
            for n, (kind, by, told) in enumerate(events, 1)
        ]
    )


def at(seconds: float) -> dict[str, Any]:
    return {"recording": 1, "at_s": seconds}


def gauge(
    name: str, seconds: float, *, expired: bool = False, said: str | None = None
) -> tuple[str, None, dict[str, Any]]:
    until = "2026-01-31" if expired else "2027-01-31"
    told = {"gauge": name, "kind": "feeler", "calibrated_until": until, "expired": expired, "said": said}
    return ("gauge_used", None, {**told, **at(seconds)})


CLEARANCES = ("front clearance vane one eighteen thou", "vane two nineteen thou", "vane three seventeen thou")


def test_a_gauge_reads_from_where_it_was_taken_on() -> None:
    known = facts(gauge("FG-1", 5), gauge("FG-2", 15))
    assert [one.gauge for one in with_facts(record(*CLEARANCES), SHEET, known).readings] == [
        None, "feeler FG-1", "feeler FG-2",
    ]  # fmt: skip


def test_a_gauge_of_another_kind_reads_nothing_here() -> None:
    kind, by, told = gauge("M-1", 0)
    known = facts((kind, by, {**told, "kind": "outside micrometer"}))
    assert {one.gauge for one in with_facts(record(*CLEARANCES), SHEET, known).readings} == {None}


def test_a_gauge_named_aloud_is_the_one_of_the_register() -> None:
    said = record("feeler gauge number twelve", *CLEARANCES)
    assert {one.gauge for one in said.readings} == {"feeler 12"}
    known = facts(gauge("FG-1", 0), gauge("FG-12", 10, said="feeler 12"))
    assert {one.gauge for one in with_facts(said, SHEET, known).readings} == {"feeler FG-12"}
    # One that the register does not have stands as it was said.
    assert {one.gauge for one in with_facts(said, SHEET, facts(gauge("FG-1", 0))).readings} == {"feeler 12"}


def test_a_gauge_out_of_calibration_is_a_deviation_of_each_item_once() -> None:
    known = facts(gauge("FG-1", 0), gauge("FG-2", 5, expired=True))
    found = reviewed(with_facts(record(*CLEARANCES), SHEET, known), SHEET, [], besides_talk(SHEET, known))
    texts = [one.text for one in found.deviations if one.evidence.rule == "bench"]
    assert texts == ["Front clearance: read with feeler FG-2, whose calibration ended 2026-01-31"]


def test_such_a_deviation_is_disposed_of_like_any_other() -> None:
    known = facts(gauge("FG-2", 0, expired=True))
    with_gauges, also = with_facts(record(*CLEARANCES), SHEET, known), besides_talk(SHEET, known)
    (one,) = (
        one for one in reviewed(with_gauges, SHEET, [], also).deviations if one.evidence.rule == "bench"
    )
    use = Decision(
        1, "disposed", deviation_key(one), {"disposition": "use_as_is", "why": "checked"}, "R", "now"
    )
    done = reviewed(with_gauges, SHEET, [use], also)
    assert [d.disposition for d in done.deviations if d.evidence.rule == "bench"] == ["use_as_is"]


@pytest.mark.parametrize(
    ("events", "witness", "texts"),
    [
        ([], None, ["Leak test: done without the badge of a witness"]),
        ([("hold_passed", "Tove Lind (tove)", {"step": "leak_test", **at(1)})], None,
         ["Leak test: done without the badge of a witness; Tove Lind went on"]),
        ([("witnessed", "Rolf Dahl (rolf)", {"step": "leak_test", **at(1)})], "Rolf Dahl", []),
    ],
)  # fmt: skip
def test_a_hold_point_wants_a_badge(events: list[Any], witness: str | None, texts: list[str]) -> None:
    known = facts(*events)
    found = reviewed(
        with_facts(record("leak test is done"), SHEET, known), SHEET, [], besides_talk(SHEET, known)
    )
    (step,) = found.steps
    assert step.witness == witness
    assert [one.text for one in found.deviations if one.step == "leak_test"] == texts


def test_a_witness_only_named_is_said_to_be_only_named() -> None:
    found = besides_talk(SHEET, facts())(record("leak test is done, ray watched it"))
    assert [one.text for one in found] == ["Leak test: done without the badge of a witness (ray was named)"]


@pytest.mark.parametrize(("what", "serial"), [("lot", "lot A 77"), ("serial", "A 77")])
def test_lot_or_serial_stands_beside_the_new_part(what: str, serial: str) -> None:
    told = {"part": "seal", "what": what, "code": "A 77", **at(0)}
    known = facts(("part_lot", "Tove Lind (tove)", told))
    found = with_facts(record("the seal is renewed", "the casing bolts are reused"), SHEET, known)
    assert [(one.part, one.serial) for one in found.parts] == [("seal", serial), ("casing_bolts", None)]
    assert facts_shown(known, SHEET).lots[0].text == f"Seal: {what} A 77"


def test_who_was_there_when() -> None:
    known = facts(
        ("recording_begun", "Tove Lind (tove)", {"recording": 1}),
        ("joined", "Ola Berg (ola)", {"who": "Ola Berg (ola)", **at(30)}),
        ("left", "Tove Lind (tove)", {"who": "Tove Lind (tove)", **at(60)}),
        ("recording_ended", None, {"recording": 1}),
        ("recording_begun", "Tove Lind (tove)", {"recording": 2}),
    )
    assert known.present_at(Place(1, 10)) == ["Tove Lind (tove)"]
    assert known.present_at(Place(1, 40)) == ["Tove Lind (tove)", "Ola Berg (ola)"]
    assert known.present_at(Place(1, 70)) == ["Ola Berg (ola)"]
    assert known.present_at(Place(2, 0)) == ["Tove Lind (tove)"]
    assert known.present_at(Place(1, AFTER_ALL)) == []
    assert with_facts(record(), SHEET, known).job.technician == "Tove Lind, Ola Berg"
    assert facts_shown(known, SHEET).here == ["Tove Lind"]
