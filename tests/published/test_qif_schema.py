"""Our QIF documents are valid by the published QIF 3.0 schemas (QIF community repository, Boost licence)."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal

import pytest
from lxml import etree

from api.exports.qif import qif_results
from api.exports.qif_units import QIF_UNITS
from api.signing.keys import new_key
from api.signing.signed_record import Signer, sign_record
from shared.job_sheet import JobSheet, load_job_sheet, shipped_sheet_ids
from shared.record import Evidence, Job, MadeBy, ReadingEntry, RebuildRecord, Verdict
from shared.units import UNITS
from tests.conftest import qif_schemas

VERDICTS: tuple[Verdict, ...] = ("within", "outside", "undecided", "no_limit")


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    folder = qif_schemas()
    assert folder is not None
    return etree.XMLSchema(etree.parse(folder / "QIFDocument.xsd"))


def faults(schema: etree.XMLSchema, document: bytes) -> list[str]:
    schema.validate(etree.fromstring(document))
    return [f"{fault.line}: {fault.message}" for fault in schema.error_log]


def reading(n: int, item: str, unit: str, value: str | None, **more: object) -> ReadingEntry:
    words = "as heard & <said>"
    evidence = Evidence(utterance=n, start_s=n, end_s=n + 1, words=words, confidence=0.9, rule="test")
    fields = {
        "id": f"r{n}", "evidence": evidence, "item": item, "unit": unit, "value_exact": value,
        "value": value and float(value), "verdict": VERDICTS[n % 4],
    }  # fmt: skip
    return ReadingEntry.model_validate({**fields, **more})


def everything_on(sheet: JobSheet) -> RebuildRecord:
    """A record with a value at every place of every item of a sheet, found and left, and some questions."""
    readings: list[ReadingEntry] = []
    for item, entry in sheet.measured.items():
        value = next((n for n in (entry.nominal, entry.upper, entry.lower) if n is not None), Decimal("1.50"))
        for position in entry.positions or [None]:
            for stage in ("as_found", "as_left"):
                n = len(readings)
                asked = n % 7 == 3
                readings.append(
                    reading(
                        n, item, entry.unit, None if asked else str(value), position=position, stage=stage,
                        needs_review=asked, reason="13 or 30" if asked else None,
                        gauge=f"{entry.gauge} no. {n % 3}" if entry.gauge else None,
                    )
                )  # fmt: skip
    job = Job(
        work_order="5027", pump_tag="P-1", pump_serial="GW <8831>", technician="T", sheet_id=sheet.id,
        sheet_revision=sheet.revision, ended="2026-11-26T12:00:00+00:00",
    )  # fmt: skip
    return RebuildRecord(made_by=MadeBy(version="0.1.0"), job=job, readings=readings)


@pytest.mark.parametrize("name", ["sample-results.QIF", "sample-results-pass-fail.QIF"])
def test_the_schemas_take_their_own_samples_and_nothing_else(schema: etree.XMLSchema, name: str) -> None:
    folder = qif_schemas()
    assert folder is not None
    sample = (folder / name).read_bytes()
    assert faults(schema, sample) == []
    assert faults(schema, sample.replace(b"QPId>", b"QPID>")) != []


@pytest.mark.parametrize("name", list(shipped_sheet_ids()))
def test_every_item_of_every_shipped_sheet(schema: etree.XMLSchema, name: str) -> None:
    sheet = load_job_sheet(name)
    record = everything_on(sheet)
    assert record.readings
    assert faults(schema, qif_results(record, sheet)) == []


@pytest.mark.parametrize("nominal", [True, False])
@pytest.mark.parametrize("limits", ["none", "lower", "upper", "both"])
def test_every_unit_with_and_without_limits(schema: etree.XMLSchema, nominal: bool, limits: str) -> None:
    entries = [
        {
            "item": f"item_{unit}".lower(), "unit": unit, "nominal": "15" if nominal else None,
            "lower": "10.0" if limits in ("lower", "both") else None,
            "upper": "20.50" if limits in ("upper", "both") else None,
        }
        for unit in UNITS
    ]  # fmt: skip
    sheet = JobSheet.model_validate(
        {"id": "all-units", "title": "All units", "units": {"length": "in"}, "readings": entries}
    )
    document = qif_results(everything_on(sheet), sheet)
    assert faults(schema, document) == []
    assert all(f">{unit}</UnitName>".encode() in document for unit in QIF_UNITS)


def test_nothing_measured(schema: etree.XMLSchema) -> None:
    sheet = load_job_sheet("wash-water-end-suction")
    record = everything_on(sheet).model_copy(update={"readings": [], "job": Job()})
    assert faults(schema, qif_results(record, sheet)) == []


def test_what_the_sheet_does_not_know(schema: etree.XMLSchema) -> None:
    sheet = load_job_sheet("wash-water-end-suction")
    record = everything_on(sheet)
    record.readings = [reading(0, "something", "rpm", "1750"), reading(1, "something", "mm", "-0.002")]
    assert faults(schema, qif_results(record, sheet)) == []


def test_a_signed_record(schema: etree.XMLSchema) -> None:
    sheet = load_job_sheet("wash-water-end-suction")
    signer = Signer("R. Reviewer", "rr", "reviewer", "reviewed")
    signed = sign_record(everything_on(sheet), [], signer, new_key(), now=datetime(2026, 11, 26, tzinfo=UTC))
    assert faults(schema, qif_results(signed.record, sheet)) == []
