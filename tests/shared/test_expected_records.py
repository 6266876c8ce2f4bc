"""The hand-written expected records: they fit their narration and sheet and do not contradict themselves.

Values were read from the words by hand. What follows from values by rule (verdicts, deviations, what is
missing) is worked out again here from the sheet, independently of the program.
"""

from __future__ import annotations

import re
from collections import Counter
from decimal import Decimal
from typing import Any, get_args

import pytest

from fixtures.narration_files import REBUILDS, VIDEO, read_expected, read_narration, utterance_of
from shared import record
from shared.job_sheet import JobSheet, load_job_sheet

NAMES = (*REBUILDS, VIDEO)
LISTS = (
    "readings", "conditions", "parts", "consumables", "steps", "events", "deviations", "questions",
    "unfiled_numbers", "chatter", "paused",
)  # fmt: skip


def _sheet(name: str) -> JobSheet:
    return load_job_sheet(read_expected(name)["sheet"])


def _snippets(expected: dict[str, Any]) -> list[str]:
    entries = [entry for key in LISTS for entry in expected.get(key, [])]
    words = [entry if isinstance(entry, str) else entry.get("words") for entry in entries]
    return [each for each in words if each is not None]


@pytest.mark.parametrize("name", NAMES)
def test_words_and_print_are_the_same_narration(name: str) -> None:
    words, printed = read_narration(name), read_narration(name, printed=True)
    assert [line.pause_s for line in words] == [line.pause_s for line in printed]
    assert all(re.fullmatch(r"[a-z' ]+", line.text) for line in words)
    assert all(line.text[0].isupper() or line.text[0].isdigit() for line in printed)
    # Words without numbers are the same words in both.
    for spoken, shown in zip(words, printed, strict=True):
        told, seen = set(spoken.text.split()), set(re.findall(r"[a-z']+", shown.text.lower()))
        assert len(seen & told) >= 0.6 * len([w for w in seen if len(w) > 3]), (spoken.text, shown.text)


@pytest.mark.parametrize("name", REBUILDS)
def test_rebuild_is_as_long_as_a_rebuild_told_in_five_minutes(name: str) -> None:
    lines = read_narration(name)
    assert 45 <= len(lines) <= 80
    assert 450 <= sum(len(line.text.split()) for line in lines) <= 820


@pytest.mark.parametrize("name", NAMES)
def test_every_snippet_stands_in_one_utterance(name: str) -> None:
    for words in _snippets(read_expected(name)):
        assert utterance_of(name, words) >= 0


@pytest.mark.parametrize("name", NAMES)
def test_entries_are_on_the_sheet_and_in_the_vocabulary(name: str) -> None:
    expected, sheet = read_expected(name), _sheet(name)
    for reading in expected["readings"]:
        entry = sheet.measured[reading["item"]]
        assert reading["unit"] == entry.unit
        assert reading.get("position") in (entry.positions or [None]), reading
        assert entry.stage in ("either", reading["stage"])
    for entry in [*expected["conditions"], *expected["parts"]]:
        assert (entry["part"] in sheet.part_names) is not entry.get("unlisted", False), entry
    assert {c["condition"] for c in expected["conditions"]} <= set(get_args(record.Condition))
    assert {p["action"] for p in expected["parts"]} <= set(get_args(record.Action))
    assert {c["name"] for c in expected["consumables"]} <= {c.name for c in sheet.consumables}
    assert {c["applied_to"] for c in expected["consumables"]} <= set(sheet.part_names)
    assert {s["step"] for s in expected["steps"]} <= {s.step for s in sheet.steps}
    assert {e["event"] for e in expected["events"]} <= set(get_args(record.Event))


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_filed_on_chatter_or_between_pause_and_resume(name: str) -> None:
    expected = read_expected(name)
    kept = {key: value for key, value in expected.items() if key not in ("chatter", "paused")}
    filed = {utterance_of(name, words) for words in _snippets(kept)}
    quiet = {utterance_of(name, words) for key in ("chatter", "paused") for words in expected.get(key, [])}
    assert not filed & quiet
    events = {e["event"]: utterance_of(name, e["words"]) for e in expected["events"]}
    if "pause" in events:
        between = set(range(events["pause"] + 1, events["resume"]))
        assert between == {utterance_of(name, words) for words in expected["paused"]}


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


@pytest.mark.parametrize("name", NAMES)
def test_verdicts_follow_from_values_and_limits(name: str) -> None:
    sheet = _sheet(name)
    for reading in read_expected(name)["readings"]:
        if reading.get("needs_review"):
            assert reading["verdict"] == "undecided"
        else:
            assert reading["verdict"] == _verdict(sheet, reading), reading
            entry = sheet.measured[reading["item"]]
            if entry.plausible is not None:
                assert entry.plausible[0] <= Decimal(reading["value"]) <= entry.plausible[1]


def _standing(expected: dict[str, Any]) -> list[dict[str, Any]]:
    return [r for r in expected["readings"] if "superseded" not in r]


@pytest.mark.parametrize("name", NAMES)
def test_one_reading_stands_per_item_position_and_stage_and_it_is_the_last(name: str) -> None:
    expected = read_expected(name)
    keys = [(r["item"], r.get("position"), r["stage"]) for r in expected["readings"]]
    standing = [(r["item"], r.get("position"), r["stage"]) for r in _standing(expected)]
    assert len(set(standing)) == len(standing)
    assert set(standing) == set(keys)
    for number, (key, reading) in enumerate(zip(keys, expected["readings"], strict=True)):
        assert ("superseded" in reading) is (key in keys[number + 1 :]), reading


@pytest.mark.parametrize("name", NAMES)
def test_deviations_concern_what_stands(name: str) -> None:
    expected, sheet = read_expected(name), _sheet(name)
    outside = {(r["item"], r.get("position")) for r in _standing(expected) if r["verdict"] == "outside"}
    reused = {p["part"] for p in expected["parts"] if p["action"] == "reused" and "superseded" not in p}
    against = {
        part for part in reused if part in sheet.part_names and sheet.part_names[part].policy == "renew"
    }
    found = expected["deviations"]
    assert outside == {(d["item"], d.get("position")) for d in found if d["kind"] == "out_of_tolerance"}
    assert against == {d["part"] for d in found if d["kind"] == "against_policy"}


@pytest.mark.parametrize("name", REBUILDS)
def test_missing_is_what_the_sheet_requires_and_nobody_said(name: str) -> None:
    expected, sheet = read_expected(name), _sheet(name)
    given = {(r["item"], r.get("position")) for r in _standing(expected) if not r.get("needs_review")}
    missing: list[tuple[str, str, str | None]] = [
        ("reading", entry.item, position)
        for entry in sheet.measured.values()
        if entry.required
        for position in entry.positions or [None]
        if (entry.item, position) not in given
    ]
    decided = {
        p["part"] for p in expected["parts"] if p["action"] in ("renewed", "reused") and "superseded" not in p
    }
    decided |= {covered for part in decided for covered in sheet.covered_by(part)}
    missing += [("part_decision", p.part, None) for p in sheet.parts if p.decide and p.part not in decided]
    done = {step["step"] for step in expected["steps"]}
    missing += [("step", s.step, None) for s in sheet.steps if s.required and s.step not in done]
    told = [
        (m["kind"], m.get("item") or m.get("part") or m.get("step"), m.get("position"))
        for m in expected["missing"]
    ]
    assert Counter(missing) == Counter(told)
    photos = expected["missing_photos"]
    assert set(photos["without_pictures"]) == {p.of for p in sheet.photos if p.required}
    if "with_pictures" in photos:
        shown = {photo["of"] for photo in expected["photos"]}
        assert set(photos["with_pictures"]) == set(photos["without_pictures"]) - shown


@pytest.mark.parametrize("name", REBUILDS)
def test_each_rebuild_holds_what_a_rebuild_record_has_to_survive(name: str) -> None:
    expected = read_expected(name)
    superseded = {r["superseded"] for r in expected["readings"] if "superseded" in r}
    assert superseded == {"corrected", "measured_again"}
    assert any(r.get("in_breath") for r in expected["readings"])
    assert any(r.get("needs_review") and r.get("candidates") for r in expected["readings"])
    assert {d["kind"] for d in expected["deviations"]} == {"out_of_tolerance", "declared", "against_policy"}
    assert any(entry.get("unlisted") for entry in expected["parts"])
    assert {"snapshot", "pause", "resume", "read_back", "finish"} <= {e["event"] for e in expected["events"]}
    assert expected["missing"]
    assert expected["chatter"]
    assert {"work_order", "pump_tag", "pump_serial"} <= set(expected["job"])
    assert {"limit", "conditional"} <= {n.get("why") for n in expected["unfiled_numbers"]}


def test_pressure_said_in_psi_is_the_exact_pound_and_inch_in_bar() -> None:
    # NIST SP 811, Appendix B: 1 lbf = 0.45359237 kg x 9.80665 m/s2, 1 in = 25.4 mm.
    pascal = Decimal("0.45359237") * Decimal("9.80665") / Decimal("0.0254") ** 2
    (reading,) = [r for r in read_expected("booster-multistage")["readings"] if r["item"] == "test_pressure"]
    assert abs(Decimal(reading["value"]) - 350 * pascal / 100_000) < Decimal("1e-12")
