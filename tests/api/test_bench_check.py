"""``witnessmark bench-check`` and the remarks on sound that ``process`` makes."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from api.cli import run
from api.sound_advice import sound_lines, sound_remarks
from bench.expected_hearing import table_of, write_table
from capture.expected_hearing import load_expected_hearing
from capture.sound_check import check_sound
from tests.api.processing import RECORDING, write_wav
from tests.capture.bench_talk import bench_talk, in_noise
from tests.capture.test_sound_check import too_loud


@pytest.fixture
def clipped(tmp_path: Path) -> Path:
    return write_wav(tmp_path / "loud.wav", too_loud(3.0))


def test_a_clipped_trial_is_told_so_with_what_to_do(
    clipped: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["bench-check", str(clipped)]) == 0
    out = capsys.readouterr().out
    assert "✗ too loud:" in out
    assert "turn its gain down" in out


@pytest.mark.long
def test_a_good_recording_has_nothing_to_complain_of(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["bench-check", str(RECORDING)]) == 0
    assert "✓ nothing to complain of" in capsys.readouterr().out


def test_json_from_standard_input(
    clipped: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "stdin", SimpleNamespace(buffer=io.BytesIO(clipped.read_bytes())))
    assert run(["bench-check", "-", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["findings"][0]["code"] == "clipped"
    assert 0.05 < told["clipped_share"] < 0.2


def test_no_recording_is_one_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "x.wav").write_bytes(b"no sound")
    assert run(["bench-check", str(tmp_path / "x.wav")]) == 2
    assert capsys.readouterr().err.count("\n") == 1


def test_the_bench_writes_what_is_said_to_be_expected(tmp_path: Path) -> None:
    measured = {
        "word_error_rate": 0.31, "number_lines_right": 0.5, "readings_right": 0.4, "readings_asked": 0.25,
        "filed_sure": 200, "silently_wrong": 1,
        "silently_wrong_at_most": 0.0235,
    }  # fmt: skip
    table = table_of(
        {"clean": {**measured, "word_error_rate": 0.12}, "10 dB": measured}, date="d", commit="c" * 40
    )
    write_table(table, tmp_path / "table.yaml")
    loaded = load_expected_hearing(tmp_path / "table.yaml")
    assert loaded is not None
    noisy = "\n".join(sound_lines(check_sound([in_noise("white", 15)]), loaded))
    assert "measured at 10 dB" in noisy
    assert "31 % of the words wrong" in noisy
    assert "1 of 200 filed unasked were wrong (at most 2 %)" in noisy
    quiet = "\n".join(sound_lines(check_sound([bench_talk()]), loaded))
    assert "in a quiet room" in quiet
    assert "12 % of the words wrong" in quiet
    loud = "\n".join(sound_lines(check_sound([in_noise("white", 0)]), loaded))
    assert "do not rely on it" in loud
    assert "not been measured" in "\n".join(sound_lines(check_sound([bench_talk()]), None))


def test_remarks_say_what_was_wrong_and_nothing_of_a_good_recording() -> None:
    (remark,) = sound_remarks(check_sound([too_loud(3.0)]))
    assert remark.text.startswith("Too loud: ")
    assert remark.text.endswith(".")
    assert not sound_remarks(check_sound([bench_talk()]))
    assert not sound_remarks(check_sound([np.zeros(16000, np.int16)]))
