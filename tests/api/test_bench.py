"""The bench measures what it says: its own parts, without a long run."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bench import __main__ as bench
from bench.pipeline import repeated_recording
from capture.sound import RATE_HZ, read_sound

RECORDING = Path(__file__).parents[2] / "fixtures" / "recordings" / "wash-water-end-suction-video.mp4"


def test_a_long_recording_is_the_short_one_over_and_over(tmp_path: Path) -> None:
    once = np.concatenate(list(read_sound(RECORDING)))
    length_s = 2.5 * len(once) / RATE_HZ
    assert repeated_recording(tmp_path / "long.wav", RECORDING, length_s) == pytest.approx(
        length_s, abs=0.001
    )
    sound = np.concatenate(list(read_sound(tmp_path / "long.wav")))
    assert np.array_equal(sound[: len(once)], once)
    assert np.array_equal(sound[len(once) : 2 * len(once)], once)


def test_an_unknown_measure_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    assert bench.main(["weather"]) == 2
    assert "no measure 'weather'; expected some of pipeline" in capsys.readouterr().err


def test_figures_are_written_with_commit_command_and_date(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import json

    import bench.pipeline

    monkeypatch.setattr(bench.pipeline, "measure", lambda: {"audio_s": 1.0, "inner": {"peak_mb": 2}})
    monkeypatch.setattr("bench.__main__.RESULTS", tmp_path / "results")
    from bench.__main__ import main

    assert main(["pipeline"]) == 0
    (path,) = (tmp_path / "results").iterdir()
    written = json.loads(path.read_text())
    assert written["pipeline"] == {"audio_s": 1.0, "inner": {"peak_mb": 2}}
    assert written["command"] == "python -m bench pipeline"
    assert written["date"].startswith("20")
    assert {"commit", "changed_since", "machine"} <= set(written)
    assert "peak_mb" in capsys.readouterr().out
