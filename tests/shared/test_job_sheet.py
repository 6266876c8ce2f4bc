"""Job sheets: shipped ones load, wrong ones are refused with file, line, field and what was expected."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from shared.errors import SheetInvalid, SheetNotFound
from shared.job_sheet import (
    JobSheet,
    check_job_sheet,
    find_sheet,
    load_job_sheet,
    sheet_doubts,
    shipped_sheet_ids,
)
from shared.sheet_source import parse_sheet_source, read_sheet_source

HEAD = "id: a\ntitle: A pump\nunits: {length: in}\n"


def parse(text: str) -> JobSheet:
    return check_job_sheet(parse_sheet_source(text, "a.yaml"))


@pytest.mark.parametrize("name", shipped_sheet_ids())
def test_a_shipped_sheet_loads_without_a_doubt_and_is_named_like_its_file(name: str) -> None:
    source = read_sheet_source(find_sheet(name))
    sheet = check_job_sheet(source)
    assert sheet.id == name
    assert sheet_doubts(source, sheet) == ()


def test_three_sheets_of_three_pumps_ship() -> None:
    assert len(shipped_sheet_ids()) >= 3
    assert {load_job_sheet(name).units.length for name in shipped_sheet_ids()} == {"in", "mm"}


def test_only_id_title_and_units_are_needed() -> None:
    sheet = parse(HEAD)
    assert (sheet.readings, sheet.parts, sheet.positions, sheet.revision) == ([], [], {}, None)


def test_defaults_are_those_of_the_contract() -> None:
    sheet = parse(
        HEAD
        + "readings: [{item: back_gap, unit: in}]\n"
        + "fasteners: [{item: bolt, unit: N_m}]\nparts: [{part: shaft}]\n"
    )
    (reading,), (bolt,), (part,) = sheet.readings, sheet.fasteners, sheet.parts
    assert reading.spoken == ("back gap",)
    assert (reading.nominal, reading.lower, reading.upper, reading.required, reading.stage) == (
        None,
        None,
        None,
        False,
        "either",
    )
    assert reading.measured_kind == "length"
    assert bolt.stage == "as_left"
    assert (part.policy, part.decide, part.quantity) == ("inspect", True, 1)


def test_null_is_absent_and_a_lone_phrase_is_a_list() -> None:
    (reading,) = parse(
        HEAD + "readings:\n  - {item: gap, unit: in, say: The Gap, lower: null, positions: null}\n"
    ).readings
    assert (reading.spoken, reading.lower, reading.positions) == (("the gap",), None, [])


def test_limits_stay_as_written() -> None:
    (reading,) = parse(HEAD + "readings:\n  - {item: gap, unit: in, upper: 0.0180}\n").readings
    assert reading.upper == Decimal("0.018")
    assert str(reading.upper) == "0.0180"


@pytest.mark.parametrize(
    ("body", "where", "says"),
    [
        ("readings:\n  - {unit: in}\n", "a.yaml:5", "readings[0].item: is missing"),
        ("readings:\n  - item: gap\n    unit: furlong\n", "a.yaml:6", "'furlong'"),
        ("readings:\n  - {item: Gap One, unit: in}\n", "a.yaml:5", "snake_case"),
        (
            "readings:\n  - item: gap\n    unit: in\n    lower: 0.02\n    upper: 0.01\n",
            "a.yaml:5",
            "lower 0.02 is above upper 0.01",
        ),
        ("readings:\n  - item: gap\n    unit: in\n    upper: inf\n", "a.yaml:7", "readings[0].upper"),
        ("readings:\n  - item: gap\n    unit: in\n    upper: wide\n", "a.yaml:7", "'wide'"),
        ("readings:\n  - item: gap\n    unit: in\n    uncertainty: -1\n", "a.yaml:7", "uncertainty"),
        (
            "readings:\n  - {item: gap, unit: in, kind: torque}\n",
            "a.yaml:5",
            "kind torque does not go with unit in",
        ),
        ("readings:\n  - {item: gap, unit: in, colour: red}\n", "a.yaml:5", "colour: is no field here"),
        ("fasteners:\n  - {item: bolt, unit: mm}\n", "a.yaml:5", "unit mm is no torque"),
        ("parts:\n  - {part: seal, policy: guess}\n", "a.yaml:5", "'guess'"),
        ("parts:\n  - {part: seal, quantity: 0}\n", "a.yaml:5", "quantity"),
        (
            "readings:\n  - {item: gap, unit: in}\n  - {item: gap, unit: mm, say: other}\n",
            "a.yaml:6",
            "gap is also readings[0]",
        ),
        (
            "readings:\n  - {item: a, unit: in, say: gap}\n  - {item: b, unit: mm, say: gap}\n",
            "a.yaml:6",
            "both called 'gap' and both measure length",
        ),
        ("parts: [{part: seal}, {part: seal}]\n", "a.yaml:4", "seal stands twice"),
        ("parts: {}\n", "a.yaml:4", "list"),
    ],
)
def test_a_wrong_sheet_names_file_line_field_and_expectation(body: str, where: str, says: str) -> None:
    with pytest.raises(SheetInvalid) as refused:
        parse(HEAD + body)
    assert str(refused.value).startswith(f"{where}: ")
    assert says in str(refused.value)


def test_units_must_fit_their_kinds() -> None:
    with pytest.raises(SheetInvalid, match=r"a\.yaml:3: units: psi is no unit of length"):
        parse("id: a\ntitle: A pump\nunits: {length: psi}\n")


@pytest.mark.parametrize("missing", ["id", "title", "units"])
def test_the_three_needed_fields_are_asked_for(missing: str) -> None:
    text = "".join(line + "\n" for line in HEAD.splitlines() if not line.startswith(missing))
    with pytest.raises(SheetInvalid, match=f"{missing}: is missing"):
        parse(text)


def test_all_problems_come_at_once() -> None:
    with pytest.raises(SheetInvalid, match="and 1 more") as refused:
        parse(HEAD + "readings:\n  - {unit: in}\n  - {item: gap, unit: x}\n")
    assert len(refused.value.problems) == 2


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "the sheet is empty"),
        ("- a\n", "no mapping"),
        ("id: [a\n", "not valid YAML"),
        ("id: a\nid: b\n", "a.yaml:2: 'id' stands twice"),
        ("a: &x\n  b: *x\n", "alias"),
    ],
)
def test_text_that_is_no_sheet_is_refused(text: str, says: str) -> None:
    with pytest.raises(SheetInvalid, match=says):
        parse(text)


def test_files_that_are_no_text_are_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.yaml"
    path.write_bytes(b"id: \xff\xfe")
    with pytest.raises(SheetInvalid, match="not UTF-8"):
        load_job_sheet(path)
    path.write_bytes(b"#" * 2_000_001)
    with pytest.raises(SheetInvalid, match="larger than any job sheet"):
        load_job_sheet(path)


@pytest.mark.parametrize("name", ["nothing-like-it", "/nowhere/at/all.yaml", "", "../shared"])
def test_an_unknown_sheet_names_the_shipped_ones(name: str) -> None:
    with pytest.raises(SheetNotFound, match="wash-water-end-suction"):
        load_job_sheet(name)


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (
            "positions: {'1': [one]}\nreadings: [{item: gap, unit: in, positions: ['2']}]\n",
            "'2' does not stand under positions",
        ),
        ("positions: {'1': [one], '2': [one]}\n", "both called 'one'"),
        (
            "readings: [{item: gap, unit: in, upper: 2, plausible: [0, 1]}]\n",
            "upper 2 lies outside plausible",
        ),
        ("parts: [{part: seal, components: [spring]}]\n", "'spring' is no other part"),
        ("photos: [{of: seal}, {of: seal}]\n", "seal either stands twice"),
    ],
)
def test_slips_are_doubts_and_the_sheet_still_works(body: str, says: str) -> None:
    source = parse_sheet_source(HEAD + body, "a.yaml")
    doubts = sheet_doubts(source, check_job_sheet(source))
    assert says in doubts[0]
    assert doubts[0].startswith("a.yaml:")


def test_a_decision_covers_components_of_components_once() -> None:
    sheet = parse(
        HEAD
        + "parts:\n  - {part: seal, components: [face, unit]}\n  - {part: unit, components: [spring, seal]}\n"
        "  - {part: face}\n  - {part: spring}\n"
    )
    assert sheet.covered_by("seal") == ("face", "unit", "spring")
    assert sheet.covered_by("nothing") == ()


def test_phrases_hold_every_spoken_form_and_position() -> None:
    sheet = load_job_sheet("wash-water-end-suction")
    phrases = set(sheet.phrases())
    assert {
        "front clearance",
        "vane one",
        "impeller bolt",
        "anti seize",
        "turns freely",
        "seat face",
    } <= phrases
