"""What is asked reads as one asks it across a bench, once for all that is doubtful of a reading."""

from __future__ import annotations

import pytest

from extract.questions import questions_of, spoken_value
from extract.record_builder import RecordBuilder
from shared.job_sheet import JobSheet, load_job_sheet
from shared.record import Candidate, Evidence, PartEntry, ReadingEntry
from shared.speech import Utterance

EVIDENCE = Evidence(
    recording="", utterance=0, start_s=0.0, end_s=1.0, words="", engine="", confidence=1.0, rule=""
)


@pytest.fixture(scope="module")
def multistage() -> JobSheet:
    return load_job_sheet("booster-multistage")


def asked(sheet: JobSheet, reading: ReadingEntry) -> str:
    (question,) = questions_of(sheet, [reading])
    return question.text


def reading(
    item: str, position: str | None, value: str | None, *candidates: Candidate, **more: str
) -> ReadingEntry:
    return ReadingEntry(
        id="r1", evidence=EVIDENCE, item=item, position=position, stage="as_left", verdict="undecided",
        value=None if value is None else float(value), value_exact=value, unit=more.get("unit", "mm"),
        said_unit=more.get("said_unit"), needs_review=True, reason=more.get("reason", "heard in two ways"),
        candidates=list(candidates),
    )  # fmt: skip


def valued(text: str, unit: str = "mm", **more: str) -> Candidate:
    return Candidate(value=float(text), value_exact=text, unit=unit, **more)


ONE, TWO = Candidate(position="1"), Candidate(position="2")


@pytest.mark.parametrize(
    ("position", "value", "candidates", "text"),
    [
        ("1", "0.3", [], "neck ring clearance, stage one: 0.30 mm? (heard in two ways)"),
        ("1", "0.3", [valued("0.3")], "neck ring clearance, stage one: 0.30 mm? (heard in two ways)"),
        ("1", None, [valued("0.3"), valued("0.13")], "neck ring clearance, stage one: 0.30 mm or 0.13 mm?"),
        ("1", "0.3", [valued("0.13")], "neck ring clearance, stage one: 0.30 mm or 0.13 mm?"),
        ("1", "0.3", [ONE, TWO], "neck ring clearance, 0.30 mm: stage one or stage two?"),
        ("1", "0.3", [ONE, Candidate()], "neck ring clearance, 0.30 mm: stage one or another place?"),
        (None, "0.3", [ONE, TWO], "neck ring clearance: 0.30 mm, at which position?"),
        (
            "1",
            None,
            [ONE, TWO, valued("0.3"), valued("0.13")],
            "neck ring clearance, stage one or stage two: 0.30 mm or 0.13 mm?",
        ),
        (
            "1",
            None,
            [valued("0.3", position="1"), valued("1.3", item="stack_height")],
            "neck ring clearance: stage one 0.30 mm or stack height 1.3 mm?",
        ),
        (
            "1",
            "0.3",
            [Candidate(item="neck_ring_clearance"), Candidate(item="coupling_gap")],
            "0.30 mm, stage one: neck ring clearance or coupling gap?",
        ),
    ],
)
def test_all_doubts_about_a_reading_are_one_question(
    multistage: JobSheet, position: str | None, value: str | None, candidates: list[Candidate], text: str
) -> None:
    assert asked(multistage, reading("neck_ring_clearance", position, value, *candidates)) == text


def test_a_place_is_called_as_it_is_at_that_item(multistage: JobSheet) -> None:
    text = asked(multistage, reading("tie_rod_torque", "1", "60", unit="N_m", reason="not heard clearly"))
    assert text.startswith("tie rod torque, rod one: ")


@pytest.mark.parametrize(
    ("exact", "unit", "decimals", "said_unit", "text"),
    [
        ("0.019", "in", 3, None, "19 thou"),
        ("0.0015", "in", 3, None, "1.5 thou"),
        ("1.0625", "in", 3, None, "1.0625 in"),
        ("5", "count", 0, None, "5"),
        ("0.5", "mm", 2, None, "0.50 mm"),
        ("0.015", "mm", 2, "um", "0.015 mm"),
        # 145 N·m in foot-pounds (NIST SP 811, B.8: 1 lbf·ft = 1.355 818 N·m).
        ("106.94651164520347", "ft_lb", 0, "N_m", "145 N·m (≈ 106.95 ft·lb)"),
        ("106.94651164520347", "ft_lb", 0, None, "≈ 106.95 ft·lb"),
        ("0.0015748031496062992", "in", 3, "mm", "≈ 1.5748 thou"),
    ],
)
def test_values_are_asked_about_in_digits_that_one_would_say(
    exact: str, unit: str, decimals: int, said_unit: str | None, text: str
) -> None:
    assert spoken_value(exact, unit, decimals, said_unit) == text


def test_which_part_a_decision_was_about(multistage: JobSheet) -> None:
    part = PartEntry(
        id="p1", evidence=EVIDENCE, part="neck_rings", action="renewed", needs_review=True,
        candidates=[Candidate(part="neck_rings"), Candidate(part="impellers")],
    )  # fmt: skip
    (question,) = questions_of(multistage, [part])
    assert question.text == "renewed: neck rings or impellers?"


def test_a_value_that_does_not_lead_is_offered_all_the_same() -> None:
    builder = RecordBuilder(load_job_sheet("wash-water-split-case"))
    said = "vibration one point eight drive end two point one on drive end"
    builder.hear(Utterance(text=said, start_s=0.0, end_s=3.0))
    record = builder.record()
    assert record.questions
    for found in record.readings:
        assert found.value is not None or any(c.value is not None for c in found.candidates)


def test_a_deviation_tells_a_converted_value_in_digits_that_one_would_say() -> None:
    builder = RecordBuilder(load_job_sheet("wash-water-end-suction"))
    builder.hear(Utterance(text="impeller bolt torque 120 newton metres", start_s=0.0, end_s=3.0))
    (deviation,) = builder.record().deviations
    # 120 N·m in foot-pounds: 1 lbf·ft = 1.355 818 N·m (NIST SP 811, B.8).
    assert deviation.text == "impeller bolt torque: ≈ 88.507 ft·lb, allowed 66 to 74 ft·lb"
