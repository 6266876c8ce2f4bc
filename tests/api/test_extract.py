"""Narration text in, record out, through the command line."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path

import pytest

from api.cli import run
from api.failure import DONE, FOUND, NOT_DONE
from api.narration import TIMED, UNTIMED
from shared.record import RebuildRecord

NARRATIONS = Path(__file__).parents[2] / "fixtures" / "narrations"
SHEET = "wash-water-end-suction"


def extracted(capsys: pytest.CaptureFixture[str], *arguments: str) -> RebuildRecord:
    capsys.readouterr()
    assert run(["extract", *arguments, "--json"]) == DONE
    return RebuildRecord.model_validate_json(capsys.readouterr().out)


def test_standard_input_becomes_a_record(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    said = "front clearance vane one eighteen thousandths\n0:30 vane two nineteen thou\n"
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(said.encode())))
    record = extracted(capsys, "-", "--sheet", SHEET, "--pump-tag", "P-9")
    values = {(r.position, r.value_exact, r.verdict, r.evidence.start_s) for r in record.readings}
    assert values == {("1", "0.018", "within", 0.0), ("2", "0.019", "within", 30.0)}
    assert record.job.pump_tag == "P-9"
    # One line without a time makes all the moments of the record unsure, so they are not shown as moments.
    assert record.made_by.engine == UNTIMED


@pytest.mark.parametrize("kind", ["yaml", "lines", "captions"])
def test_all_forms_of_the_same_words_give_the_same_readings(
    kind: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    said = ["seal setting one and a sixteenth", "impeller bolt seventy foot pounds"]
    path = tmp_path / "said"
    if kind == "yaml":
        path.write_text("".join(f"- {{text: {text}}}\n" for text in said))
    elif kind == "lines":
        path.write_text("".join(f"[0:{n:02d}] {text}\n" for n, text in enumerate(said)))
    else:
        cues = "\n\n".join(f"00:{n:02d}.000 --> 00:{n + 1:02d}.000\n{text}" for n, text in enumerate(said))
        path.write_text(f"WEBVTT\n\n{cues}\n")
    record = extracted(capsys, str(path), "--sheet", SHEET)
    assert [(r.item, r.value_exact) for r in record.readings] == [
        ("seal_setting", "1.0625"),
        ("impeller_bolt_torque", "70"),
    ]
    assert record.made_by.engine == (UNTIMED if kind == "yaml" else TIMED)


def test_a_whole_narration_shows_its_summary_and_strict_counts_what_was_found(
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = str(NARRATIONS / f"{SHEET}.yaml")
    assert run(["extract", path, "--sheet", SHEET, "--strict"]) == FOUND
    shown = capsys.readouterr().out
    assert "READINGS AS LEFT" in shown
    assert "lip seals: reused" in shown
    assert shown.rstrip().endswith("does not authorise.")


def test_the_same_text_gives_the_same_bytes(capsys: pytest.CaptureFixture[str]) -> None:
    path = str(NARRATIONS / "booster-multistage.yaml")
    first = extracted(capsys, path, "--sheet", "booster-multistage").to_json()
    assert extracted(capsys, path, "--sheet", "booster-multistage").to_json() == first


@pytest.mark.parametrize(
    ("content", "code"),
    [("", "narration-unreadable"), ("OggS\0\0", "narration-unreadable")],
    ids=["empty", "a recording"],
)
def test_what_is_no_narration_is_refused(
    content: str, code: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "said.txt"
    path.write_text(content)
    assert run(["extract", str(path), "--sheet", SHEET]) == NOT_DONE
    err = capsys.readouterr().err
    assert f"[{code}]" in err
    assert err.count("\n") == 1


def test_a_wrong_setting_is_refused_by_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "said.txt"
    path.write_text("turns freely\n")
    monkeypatch.setenv("WITNESSMARK_READING_CONFIDENCE_LEAST", "much")
    assert run(["extract", str(path), "--sheet", SHEET]) == NOT_DONE
    assert "WITNESSMARK_READING_CONFIDENCE_LEAST has value 'much'" in capsys.readouterr().err


def test_the_printed_record_is_plain_json(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "said.txt"
    path.write_text("turns freely — no rub, 25 µm\n", encoding="utf-8")
    assert run(["extract", str(path), "--sheet", SHEET, "--json"]) == DONE
    record = json.loads(capsys.readouterr().out)
    assert record["schema"] == "rebuild-record/1"
    assert list(record)[:3] == ["schema", "made_by", "job"]
