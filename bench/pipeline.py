"""Speed and memory of the whole pipeline on a long recording, measured from outside.

The recording is a fixture said over and over until it is long enough. ``witnessmark process`` runs on
it as its own process, as a user starts it, so that loading is in the figures; memory is the operating
system's peak for that process (getrusage of children).
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
import time
import wave
from pathlib import Path
from typing import Any

from capture.journal import read_journal
from capture.sound import RATE_HZ, read_sound

RECORDINGS = Path(__file__).parents[1] / "fixtures" / "recordings"
RECORDING = "wash-water-end-suction"
#: What is asked for: no more than these.
REAL_TIME_SHARE_MOST = 0.25
PEAK_MB_MOST = 700
FIRST_UTTERANCE_S_MOST = 3.0
_POLL_S = 0.02


def repeated_recording(path: Path, source: Path, length_s: float) -> float:
    """Write a WAV file of a recording said over and over; return its length in seconds."""
    sound = b"".join(block.tobytes() for block in read_sound(source))
    wanted = round(length_s * RATE_HZ) * 2
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        written = 0
        while written < wanted:
            piece = sound[: wanted - written]
            file.writeframesraw(piece)
            written += len(piece)
    return written / 2 / RATE_HZ


def measure(length_s: float = 3600.0, engine: str = "pocketsphinx") -> dict[str, Any]:
    """Process a recording of this length and return the figures beside what was asked for."""
    source = next(RECORDINGS.glob(f"{RECORDING}.[om]*"))
    with tempfile.TemporaryDirectory(prefix="witnessmark-bench-") as folder:
        recording, out = Path(folder) / "long.wav", Path(folder) / "out"
        audio_s = repeated_recording(recording, source, length_s)
        command = [
            sys.executable, "-m", "api", "process", str(recording), "--sheet", RECORDING, "--out", str(out),
            "--engine", engine, "--json",
        ]  # fmt: skip
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        began = time.monotonic()
        with (Path(folder) / "said").open("wb") as said:
            process = subprocess.Popen(command, stdout=said, stderr=said)
            first_s, first_cpu_s = _until_first_utterance(process, out / "heard.journal", began)
            status = process.wait()
        elapsed_s = time.monotonic() - began
        if status != 0:
            raise RuntimeError(
                f"process ended with status {status}: {(Path(folder) / 'said').read_text()[-500:]}"
            )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu_s = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return {
        "audio_s": audio_s,
        "elapsed_s": round(elapsed_s, 1),
        "real_time_share": round(elapsed_s / audio_s, 4),
        "real_time_share_most": REAL_TIME_SHARE_MOST,
        # What it costs where nothing else runs: on a busy machine the share above says more of the others.
        "cpu_share": round(cpu_s / audio_s, 4),
        "peak_mb": round(after.ru_maxrss / 1024),
        "peak_mb_most": PEAK_MB_MOST,
        "first_utterance_s": round(first_s, 2),
        "first_utterance_cpu_s": round(first_cpu_s, 2),
        "first_utterance_s_most": FIRST_UTTERANCE_S_MOST,
        "engine": engine,
    }


def _until_first_utterance(
    process: subprocess.Popen[bytes], heard: Path, began: float
) -> tuple[float, float]:
    """Wait until something heard is on disk; return the seconds since the start, on the clock and of work."""
    cpu_s = 0.0
    while process.poll() is None:
        cpu_s = _cpu_s(process.pid) or cpu_s
        if heard.exists():
            reader = read_journal(heard)
            if any(True for _ in reader):
                break
        time.sleep(_POLL_S)
    return time.monotonic() - began, cpu_s


def _cpu_s(pid: int) -> float:
    """Return the processor time that a process has used; 0 where the system does not say (proc(5))."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    except OSError:
        return 0.0
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
