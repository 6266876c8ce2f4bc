"""``witnessmark export``."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from api.cli import run
from api.signing.keys import new_key
from api.signing.signed_record import sign_record
from shared.record import RebuildRecord
from tests.api.signing.conftest import NOW, SIGNER, events_of


@pytest.fixture
def path(tmp_path: Path, record: RebuildRecord) -> Path:
    path = tmp_path / "record.json"
    path.write_text(record.to_json())
    return path


def test_both_are_written(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    qif, table = path.with_name("r.qif"), path.with_name("r.csv")
    assert run(["export", str(path), "--qif", str(qif), "--csv", str(table), "--json"]) == 0
    assert json.loads(capsys.readouterr().out) == {"written": [str(qif), str(table)], "readings": 12}
    assert b"QIFDocument" in qif.read_bytes()
    assert table.read_bytes().count(b"\r\n") == 13


def test_a_signed_record_is_taken_too(path: Path, record: RebuildRecord) -> None:
    signed = sign_record(record, events_of("opened"), SIGNER, new_key(), now=NOW)
    path.write_bytes(signed.data)
    assert run(["export", str(path), "--qif", str(path.with_name("r.qif"))]) == 0
    assert b"<TimeCreated>2026-11-26T15:04:05.678+00:00</TimeCreated>" in path.with_name("r.qif").read_bytes()


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"sheet_revision": "2"}, "made with job sheet wash-water-end-suction revision 2, not"),
        ({"sheet_id": None}, "names no job sheet"),
        ({"sheet_id": "our-own"}, "our-own"),
    ],
)
def test_limits_of_another_sheet_are_refused(
    path: Path,
    record: RebuildRecord,
    change: dict[str, str | None],
    says: str,
    capsys: pytest.CaptureFixture[str],
) -> None:
    changed = record.model_copy(update={"job": record.job.model_copy(update=change)})
    path.write_text(changed.to_json())
    assert run(["export", str(path), "--csv", str(path.with_name("r.csv"))]) == 2
    assert says in capsys.readouterr().err
    assert not path.with_name("r.csv").exists()


def test_nothing_to_write_is_said(path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["export", str(path)]) == 2
    assert "give --qif FILE, --csv FILE" in capsys.readouterr().err


def test_findings_are_written_with_the_terms_of_the_standard(
    path: Path, record: RebuildRecord, capsys: pytest.CaptureFixture[str]
) -> None:
    table, plain = path.with_name("found.csv"), path.with_name("found.json")
    for name in (table, plain):
        assert run(["export", str(path), "--findings", str(name), "--iso14224", "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
    rows = list(csv.DictReader(io.StringIO(table.read_text(encoding="utf-8"), newline=""), strict=True))
    found = json.loads(plain.read_text(encoding="utf-8"))
    assert told["findings"] == len(found) == len(rows) > 0
    assert [row["finding"] for row in rows] == [one["finding"] for one in found]
    # What stands, as the record has it: no more and no less.
    sure = [one for one in record.conditions if one.standing and not one.needs_review]
    conditions = [(one["part"], one["condition"]) for one in found if one["finding"] == "condition"]
    assert conditions == [(one.part, one.condition) for one in sure]
    outside = {(one["item"], one["position"]): one for one in found if one["finding"] == "reading"}
    assert set(outside) == {
        (one.item, one.position) for one in record.readings if one.standing and one.verdict == "outside"
    }
    vane = outside["front_clearance", "4"]
    assert (vane["value"], vane["unit"]) == (0.025, "in")
    assert vane["words"] == next(one.evidence.words for one in record.readings if one.id == "r14")
    # ISO 14224:2016, table B.2, as quoted publicly: 1.3 clearance/alignment failure
    assert (vane["iso14224_mechanism"], vane["iso14224_mapping"]) == ("1.3", "named in the standard's note")


def test_findings_have_the_columns_only_where_they_are_wanted(
    path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = path.with_name("found.csv")
    assert run(["export", str(path), "--findings", str(table)]) == 0
    assert f"{table}: " in capsys.readouterr().out
    assert "iso14224" not in table.read_text(encoding="utf-8")
    assert run(["export", str(path), "--csv", str(path.with_name("r.csv")), "--iso14224"]) == 2
    assert "--iso14224 is of findings" in capsys.readouterr().err
    assert not path.with_name("r.csv").exists()
