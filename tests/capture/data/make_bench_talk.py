"""Makes bench_talk.ogg and bench_talk.json: bench phrases at known times.

Run with the program flite (voices rms, slt and awb, which come with it, free to use and redistribute).
The phrases are our own. Faint white noise stands for a quiet room; Opus at 24 kbit/s keeps the file small.
"""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
import wave
from pathlib import Path

import numpy as np
import soxr

sys.path.insert(0, str(Path(__file__).parents[3]))
from tests.capture.sound_files import write_recording

RATE_HZ = 16000
#: Voice, words, and the pause before them in seconds. 0.35 s and 0.3 s are pauses within a thought.
PHRASES = [
    ("slt", "clearance at vane one", 1.5), ("slt", "thirty one thousandths", 0.35), ("rms", "vane two", 2.0),
    ("rms", "thirty", 1.2), ("awb", "no cracks", 1.8), ("slt", "ten", 1.5),
    ("rms", "impeller bolt seventy foot pounds", 1.6), ("awb", "seat renewed", 0.3),
    ("slt", "spins by hand", 2.2),
]  # fmt: skip


def say(voice: str, words: str) -> np.ndarray:
    with tempfile.NamedTemporaryFile(suffix=".wav") as spoken:
        subprocess.run(["flite", "-voice", voice, "-t", words, "-o", spoken.name], check=True)
        with wave.open(spoken.name) as file:
            sound = np.frombuffer(file.readframes(file.getnframes()), "<i2")
    level = np.convolve(np.abs(sound.astype(float)), np.ones(160) / 160, "same")
    loud = np.flatnonzero(level > 120)  # the voice's own silence is not part of the words
    return sound[max(0, loud[0] - 80) : loud[-1] + 80]


def main(folder: Path) -> None:
    pieces, notes, at = [], [], 0
    for voice, words, pause_s in PHRASES:
        spoken = say(voice, words)
        at += round(pause_s * RATE_HZ)
        notes.append(
            {"words": words, "voice": voice, "start_s": at / RATE_HZ, "end_s": (at + len(spoken)) / RATE_HZ}
        )
        pieces += [np.zeros(round(pause_s * RATE_HZ)), spoken]
        at += len(spoken)
    sound = np.concatenate([*pieces, np.zeros(2 * RATE_HZ)]) * 0.8
    sound += np.random.default_rng(20).standard_normal(len(sound)) * 6
    at_48_khz = np.clip(soxr.resample(sound, RATE_HZ, 48000), -32768, 32767).astype(np.int16)
    write_recording(folder / "bench_talk.ogg", "libopus", at_48_khz, 48000, bit_rate=24000)
    (folder / "bench_talk.json").write_text(json.dumps(notes, indent=1) + "\n", "utf-8")


if __name__ == "__main__":
    main(Path(__file__).parent)
