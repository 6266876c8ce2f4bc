"""Running ``witnessmark process`` in tests, and reading what it made."""

from __future__ import annotations

import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np

from capture.sound import RATE_HZ
from shared.record import RebuildRecord

FIXTURES = Path(__file__).parents[2] / "fixtures"
SHEET = "wash-water-end-suction"
RECORDING = FIXTURES / "recordings" / f"{SHEET}.ogg"
PHOTOS = FIXTURES / "pictures" / SHEET
VIDEO = FIXTURES / "recordings" / f"{SHEET}-video.mp4"
FILES = ("record.json", "report.html", "report.pdf", "transcript.vtt")
SCRIPT = [
    "work order is five oh two seven",
    "seal setting one and a sixteenth",
    "front clearance vane one eighteen thou",
    "vane two twenty five thou",
    "pause recording",
    "the guard is worth ninety foot pounds of trouble",
    "resume recording",
]

Process = Callable[..., int]
"""Runs ``witnessmark process``: (recording, *more arguments, sheet=…, out=…) -> exit status."""


def write_wav(path: Path, sound: np.ndarray) -> Path:
    """Write samples (one channel, 16 kHz, int16 range) as a WAV file."""
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        file.writeframes(sound.astype("<i2").tobytes())
    return path


def record_in(folder: Path) -> RebuildRecord:
    """Read the record that a folder holds."""
    return RebuildRecord.model_validate_json((folder / "record.json").read_text("utf-8"))


def results(folder: Path) -> dict[str, bytes]:
    """Return the bytes of everything that a run makes, by name."""
    return {name: (folder / name).read_bytes() for name in FILES}


def one_line(err: str) -> str:
    """Return the line that says why it could not be done; progress may stand before it."""
    lines = [line for line in err.splitlines() if line.startswith("witnessmark: ")]
    assert len(lines) == 1
    assert err.endswith(lines[0] + "\n")
    return lines[0]
