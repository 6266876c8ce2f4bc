"""What a QIF document says; that it is valid is checked against the published schema (tests/published)."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from decimal import Decimal

import pytest

from api.exports.qif import NAMESPACE, qif_results
from api.exports.qif_units import QIF_UNITS
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord
from shared.units import _PINT_NAMES, UNITS, unit_registry

Q = {"q": NAMESPACE}


def parsed(record: RebuildRecord, sheet: JobSheet) -> ET.Element:
    return ET.fromstring(qif_results(record, sheet))


def measurements(root: ET.Element) -> dict[str, ET.Element]:
    """By the id that the reading has in the record."""
    found = {}
    for each in root.find(".//q:CharacteristicMeasurements", Q) or []:
        found[_said(each, "reading")] = each
    return found


def _said(measurement: ET.Element, name: str) -> str:
    said = measurement.iterfind("q:Attributes/q:AttributeStr", Q)
    (value,) = [each.attrib["value"] for each in said if each.get("name") == name]
    return value


def status(measurement: ET.Element) -> str | None:
    return measurement.findtext("q:Status/q:CharacteristicStatusEnum", namespaces=Q)


def test_every_standing_reading_is_measured_with_its_verdict(record: RebuildRecord, sheet: JobSheet) -> None:
    found = measurements(parsed(record, sheet))
    assert list(found) == [each.id for each in record.readings if each.standing]
    assert status(found["r14"]) == "FAIL"
    assert found["r14"].findtext("q:Value", namespaces=Q) == "0.025"
    assert status(found["r12"]) == "PASS"
    assert status(found["r5"]) == "INDETERMINATE"
    assert _said(found["r12"], "expanded_uncertainty_k2") == "0.0005"


def test_a_question_has_no_value(record: RebuildRecord, sheet: JobSheet) -> None:
    """Not even where one candidate leads: whoever reads the file would take it for measured."""
    record.readings[-1].needs_review, record.readings[-1].reason = True, "25 or 29"
    found = measurements(parsed(record, sheet))
    for asked in (found["r13"], found["r18"]):
        assert asked.find("q:Value", Q) is None
        assert status(asked) == "INDETERMINATE"
        assert "still a question" in (asked.findtext("q:Description", namespaces=Q) or "")


def test_limits_are_the_sheets(record: RebuildRecord, sheet: JobSheet) -> None:
    root = parsed(record, sheet)
    (defined,) = [
        each
        for each in root.iterfind(".//q:UserDefinedLinearCharacteristicDefinition", Q)
        if each.findtext("q:Name", namespaces=Q) == "front_clearance"
    ]
    assert defined.findtext("q:Tolerance/q:MaxValue", namespaces=Q) == "0.024"
    assert defined.findtext("q:Tolerance/q:MinValue", namespaces=Q) == "0.012"
    (torque,) = root.iterfind(".//q:UserDefinedUnitCharacteristicNominal", Q)
    said = [torque.findtext(f"q:{name}", namespaces=Q) for name in ("TargetValue", "MaxValue", "MinValue")]
    assert said == ["70", "74", "66"]


def test_a_torque_without_a_nominal_gets_none_made_up(record: RebuildRecord, sheet: JobSheet) -> None:
    """The schema wants a nominal for units of our own; where the sheet has none, it is told in words."""
    torque = sheet.measured["impeller_bolt_torque"].model_copy(update={"nominal": None})
    other = sheet.model_copy(update={"fasteners": [torque]})
    other.__dict__.pop("measured", None)
    root = parsed(record, other)
    (defined,) = root.iterfind(".//q:UserDefinedAttributeCharacteristicDefinition", Q)
    told = defined.findtext("q:WhatToMeasure", namespaces=Q)
    assert told == "impeller bolt torque (ft_lb, at least 66, at most 74)"
    assert measurements(root)["r16"].findtext("q:Value", namespaces=Q) == "70 ft_lb"


def test_the_same_record_gives_the_same_bytes(record: RebuildRecord, sheet: JobSheet) -> None:
    assert qif_results(record, sheet) == qif_results(record, sheet)


def test_another_record_has_another_name(record: RebuildRecord, sheet: JobSheet) -> None:
    first = parsed(record, sheet).findtext("q:QPId", namespaces=Q)
    record.readings[0].value_exact = "0.0011"
    assert parsed(record, sheet).findtext("q:QPId", namespaces=Q) != first


@pytest.mark.parametrize(
    ("kept", "missing", "overall"),
    [(["r14"], False, "FAIL"), (["r12"], False, "PASS"), (["r12"], True, "UNKNOWN"),
     (["r12", "r13"], False, "UNKNOWN"), (["r12", "r5"], False, "UNKNOWN"), ([], False, "NOT_MEASURED")],
)  # fmt: skip
def test_nothing_passes_while_something_is_open(
    record: RebuildRecord, sheet: JobSheet, kept: list[str], missing: bool, overall: str
) -> None:
    record.readings = [each for each in record.readings if each.id in kept]
    record.missing = [each for each in record.missing if missing and each.kind == "reading"]
    found = parsed(record, sheet).findtext(".//q:InspectionStatus/q:InspectionStatusEnum", namespaces=Q)
    assert found == overall


def test_markup_and_control_characters_in_words_are_only_text(record: RebuildRecord, sheet: JobSheet) -> None:
    record.readings[0].evidence.words = "<Value>9</Value> & \x00\x1b \ufffe]]>"
    assert _said(measurements(parsed(record, sheet))["r3"], "words") == "<Value>9</Value> &  ]]>"


@pytest.mark.parametrize("unit", [unit for unit in UNITS if unit in QIF_UNITS])
def test_units_go_to_si_as_ours_do(unit: str) -> None:
    """pint holds our definitions; QIF's way is (value + offset) · factor."""
    si = QIF_UNITS[unit].si_name.replace(" per ", " / ")
    ours = float(unit_registry().Quantity(70, _PINT_NAMES[unit]).to(si).magnitude)
    theirs = (Decimal(70) + Decimal(QIF_UNITS[unit].offset)) * Decimal(QIF_UNITS[unit].factor)
    assert float(theirs) == pytest.approx(ours, rel=1e-14)
