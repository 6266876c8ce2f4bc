"""``witnessmark export``."""

from __future__ import annotations

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
