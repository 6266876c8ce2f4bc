"""The evaluation jobs' labels: they speak of their narration and sheet, and do not contradict themselves.

Values were read from the words by hand. What follows from values by rule (verdicts, deviations, what is
missing) is worked out again here from the sheet, independently of the program. Nothing here runs it.
"""

from __future__ import annotations

import re
from collections import Counter
from decimal import Decimal
from functools import cache
from typing import Any, get_args

import pytest

from fixtures.evaluation.evaluation_files import (
    EVALUATION_JOBS,
    FIRST_SET,
    FORMER_JOBS,
    EvaluationJob,
    read_evaluation_job,
)
from shared import record
from shared.job_sheet import JobSheet, load_job_sheet, sheet_doubts
from shared.sheet_entries import Limits
from shared.sheet_source import read_sheet_source

LISTS = (
    "readings", "conditions", "parts", "consumables", "steps", "events", "deviations", "questions",
    "unfiled_numbers", "chatter", "paused",
)  # fmt: skip
JOBS = (*EVALUATION_JOBS, *FORMER_JOBS)
Key = tuple[str, str | None, str]


@cache
def _job(name: str) -> EvaluationJob:
    return read_evaluation_job(name)


@cache
def _sheet(name: str) -> JobSheet:
    return load_job_sheet(_job(name).sheet)


def _snippets(expected: dict[str, Any]) -> list[str]:
    entries = [entry for key in LISTS for entry in expected.get(key, [])]
    words = [entry if isinstance(entry, str) else entry.get("words") for entry in entries]
    return [each for each in words if each is not None]


def _key(reading: dict[str, Any]) -> Key:
    return reading["item"], reading.get("position"), reading["stage"]


def _places(entry: Limits) -> list[str | None]:
    return [*entry.positions] if entry.positions else [None]


def _standing(expected: dict[str, Any]) -> list[dict[str, Any]]:
    return [r for r in expected["readings"] if "superseded" not in r]


@pytest.mark.parametrize("name", JOBS)
def test_sheet_loads_without_doubts_under_the_name_of_its_folder(name: str) -> None:
    assert _sheet(name).id == name == _job(name).expected["sheet"]
    assert sheet_doubts(read_sheet_source(_job(name).sheet), _sheet(name)) == ()


@pytest.mark.parametrize("name", JOBS)
def test_words_and_print_are_the_same_narration(name: str) -> None:
    job = _job(name)
    assert 40 <= len(job.lines) <= 55
    assert [line.pause_s for line in job.lines] == [line.pause_s for line in job.printed]
    assert all(re.fullmatch(r"[a-z' ]+", line.text) for line in job.lines)
    assert all(line.text[0].isupper() or line.text[0].isdigit() for line in job.printed)
    for spoken, shown in zip(job.lines, job.printed, strict=True):
        told, seen = set(spoken.text.split()), set(re.findall(r"[a-z']+", shown.text.lower()))
        assert len(seen & told) >= 0.6 * len([w for w in seen if len(w) > 3]), (spoken.text, shown.text)


@pytest.mark.parametrize("name", JOBS)
def test_every_snippet_stands_in_one_utterance(name: str) -> None:
    for words in _snippets(_job(name).expected):
        assert _job(name).utterance_of(words) >= 0


@pytest.mark.parametrize("name", JOBS)
def test_entries_are_on_the_sheet_and_in_the_vocabulary(name: str) -> None:
    expected, sheet = _job(name).expected, _sheet(name)
    for reading in expected["readings"]:
        entry = sheet.measured[reading["item"]]
        assert reading["unit"] == entry.unit
        assert reading.get("position") in _places(entry), reading
        assert entry.stage in ("either", reading["stage"]), reading
    for entry in [*expected["conditions"], *expected["parts"]]:
        assert (entry["part"] in sheet.part_names) is not entry.get("unlisted", False), entry
    assert {c["condition"] for c in expected["conditions"]} <= set(get_args(record.Condition))
    assert {p["action"] for p in expected["parts"]} <= set(get_args(record.Action))
    assert {c["name"] for c in expected["consumables"]} <= {c.name for c in sheet.consumables}
    assert {c["applied_to"] for c in expected["consumables"]} <= set(sheet.part_names)
    assert {s["step"] for s in expected["steps"]} <= {s.step for s in sheet.steps}
    assert {e["event"] for e in expected["events"]} <= set(get_args(record.Event))


@pytest.mark.parametrize("name", JOBS)
def test_nothing_is_filed_on_chatter_or_between_pause_and_resume(name: str) -> None:
    job, expected = _job(name), _job(name).expected
    kept = {key: value for key, value in expected.items() if key not in ("chatter", "paused")}
    filed = {job.utterance_of(words) for words in _snippets(kept)}
    quiet = {job.utterance_of(words) for key in ("chatter", "paused") for words in expected[key]}
    assert not filed & quiet
    events = {e["event"]: job.utterance_of(e["words"]) for e in expected["events"]}
    between = set(range(events["pause"] + 1, events["resume"]))
    assert between == {job.utterance_of(words) for words in expected["paused"]}


def _verdict(sheet: JobSheet, reading: dict[str, Any]) -> str:
    """ISO 14253-1: proved inside the guard band, proved outside beyond it, else undecided."""
    entry = sheet.measured[reading["item"]]
    if entry.lower is None and entry.upper is None:
        return "no_limit"
    value, guard = Decimal(reading["value"]), entry.uncertainty or Decimal(0)
    low = entry.lower if entry.lower is not None else Decimal("-Infinity")
    high = entry.upper if entry.upper is not None else Decimal("Infinity")
    if value < low - guard or value > high + guard:
        return "outside"
    return "within" if low + guard <= value <= high - guard else "undecided"


@pytest.mark.parametrize("name", JOBS)
def test_verdicts_follow_from_values_and_limits(name: str) -> None:
    sheet = _sheet(name)
    for reading in _job(name).expected["readings"]:
        if reading.get("needs_review"):
            assert reading["verdict"] == "undecided"
            assert reading["value"] in (None, "any")
        else:
            assert reading["verdict"] == _verdict(sheet, reading), reading
            entry = sheet.measured[reading["item"]]
            if entry.plausible is not None:
                assert entry.plausible[0] <= Decimal(reading["value"]) <= entry.plausible[1]


@pytest.mark.parametrize("name", JOBS)
def test_one_reading_stands_per_item_position_and_stage_and_it_is_the_last(name: str) -> None:
    readings = _job(name).expected["readings"]
    assert 12 <= len(readings) <= 40
    keys = [_key(r) for r in readings]
    assert set(keys) == {_key(r) for r in readings if "superseded" not in r}
    for number, (key, reading) in enumerate(zip(keys, readings, strict=True)):
        assert ("superseded" in reading) is (key in keys[number + 1 :]), reading
    told = [_job(name).utterance_of(r["words"]) for r in readings]
    assert told == sorted(told)


@pytest.mark.parametrize("name", JOBS)
def test_deviations_concern_what_stands(name: str) -> None:
    expected, sheet = _job(name).expected, _sheet(name)
    outside = {_key(r)[:2] for r in _standing(expected) if r["verdict"] == "outside"}
    reused = {p["part"] for p in expected["parts"] if p["action"] == "reused" and "superseded" not in p}
    against = {
        part for part in reused if part in sheet.part_names and sheet.part_names[part].policy == "renew"
    }
    found = expected["deviations"]
    assert outside == {(d["item"], d.get("position")) for d in found if d["kind"] == "out_of_tolerance"}
    assert against == {d["part"] for d in found if d["kind"] == "against_policy"}
    left_out = {s["step"] for s in expected["steps"] if not s.get("done", True)}
    assert left_out == {d["step"] for d in found if d["kind"] == "skipped_step"}


@pytest.mark.parametrize("name", JOBS)
def test_missing_is_what_the_sheet_requires_and_nobody_said(name: str) -> None:
    expected, sheet = _job(name).expected, _sheet(name)
    given = {_key(r)[:2] for r in _standing(expected) if not r.get("needs_review")}
    missing: list[tuple[str, str, str | None]] = [
        ("reading", entry.item, position)
        for entry in sheet.measured.values()
        if entry.required
        for position in _places(entry)
        if (entry.item, position) not in given
    ]
    decided = {
        p["part"] for p in expected["parts"] if p["action"] in ("renewed", "reused") and "superseded" not in p
    }
    decided |= {covered for part in decided for covered in sheet.covered_by(part)}
    missing += [("part_decision", p.part, None) for p in sheet.parts if p.decide and p.part not in decided]
    done = {step["step"] for step in expected["steps"] if step.get("done", True)}
    missing += [("step", s.step, None) for s in sheet.steps if s.required and s.step not in done]
    told = [
        (m["kind"], m.get("item") or m.get("part") or m.get("step"), m.get("position"))
        for m in expected["missing"]
    ]
    assert Counter(missing) == Counter(told)
    # A step that was said to be left out is a deviation; whether it is missing too is left open.
    skipped = {d["step"] for d in expected["deviations"] if d["kind"] == "skipped_step"}
    assert skipped == {m["step"] for m in expected["missing"] if m.get("may")}
    wanted = {p.of for p in sheet.photos if p.required}
    assert set(expected["missing_photos"]["without_pictures"]) == wanted


@pytest.mark.parametrize("name", JOBS)
def test_what_is_unsure_or_unlisted_is_asked_about(name: str) -> None:
    expected = _job(name).expected
    asked = {q["about"] for q in expected["questions"]}
    unsure = {r["item"] for r in expected["readings"] if r.get("needs_review")}
    unsure |= {
        e["part"]
        for e in [*expected["conditions"], *expected["parts"]]
        if e.get("unlisted") or e.get("needs_review")
    }
    assert asked == unsure


def test_the_first_jobs_together_hold_what_bench_talk_has() -> None:
    every = [_job(name).expected for name in FIRST_SET]
    readings = {r.get("superseded", "") for e in every for r in e["readings"]}
    assert readings == {"", "corrected", "measured_again"}
    assert {d["kind"] for e in every for d in e["deviations"]} == {
        "out_of_tolerance", "against_policy", "skipped_step", "declared"
    }  # fmt: skip
    assert {p.get("superseded", "") for e in every for p in e["parts"]} == {"", "corrected", "struck"}
    assert {n.get("why") for e in every for n in e["unfiled_numbers"]} >= {"limit", "conditional", "question"}
    for expected in every:
        assert {"snapshot", "pause", "resume", "read_back", "finish"} <= {
            event["event"] for event in expected["events"]
        }
        assert {"work_order", "pump_tag", "pump_serial"} <= set(expected["job"])
        assert expected["missing"]
        assert expected["chatter"]
        assert any(p.get("unlisted") for p in expected["parts"])


def test_converted_values_are_exact_conversions() -> None:
    # NIST SP 811, Appendix B: 1 lbf = 0.45359237 kg x 9.80665 m/s2, 1 in = 25.4 mm, 1 ft = 12 in.
    pound_n, inch_m = Decimal("0.45359237") * Decimal("9.80665"), Decimal("0.0254")
    wanted = {
        "housing_bolt_torque": 85 * pound_n * 12 * inch_m,
        "bowl_test_pressure": Decimal(1_050_000) / (pound_n / inch_m**2),
    }
    told = {
        r["item"]: Decimal(r["value"])
        for name in FIRST_SET
        for r in _job(name).expected["readings"]
        if r["item"] in wanted and r.get("said_unit")
    }
    assert told.keys() == wanted.keys()
    for item, value in wanted.items():
        assert abs(told[item] - value) < Decimal("1e-9")
