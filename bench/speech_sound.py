"""Jobs spoken by free voices, in quiet and in shop noise, cut into utterances. Needs the program flite."""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from capture.segments import Segment, cut_segments
from fixtures.narration_files import Line, Spoken
from fixtures.sound_files import RATE_HZ
from fixtures.speak import LEAD_IN_S, Voice, in_room, speak_line

#: Spoken lines are kept here by content: speaking costs more than hearing.
CACHE = Path(os.environ.get("WITNESSMARK_BENCH_CACHE", tempfile.gettempdir())) / "witnessmark-bench-speech"
#: Durations; above one is slower. Voices are heard at all of them.
RATES = (0.95, 1.0, 1.12)


@dataclass(frozen=True)
class Condition:
    """Who speaks, how fast, and in what noise."""

    voice: str
    stretch: float
    snr_db: float | None
    """Speech level while speaking against the level of the noise; None: a quiet room."""
    seed: int

    @property
    def noise(self) -> str:
        """``clean`` or the level, for tables."""
        return "clean" if self.snr_db is None else f"{self.snr_db:g} dB"


@dataclass(frozen=True)
class Recorded:
    """A job as it was spoken."""

    length_s: float
    spoken: tuple[Spoken, ...]
    """Where each line lies."""
    segments: tuple[Segment, ...]
    cutting_s: float
    """Processor time that cutting took."""


def record_job(lines: tuple[Line, ...], condition: Condition) -> Recorded:
    """Speak a job, put it into its room and cut it into utterances."""
    voice = Voice(condition.voice, condition.stretch, "", 0, condition.snr_db, condition.seed)
    pieces = [np.zeros(round(LEAD_IN_S * RATE_HZ))]
    at, spoken = len(pieces[0]), []
    for line in lines:
        said = _kept_line(line.text, voice)
        spoken.append(Spoken(line.text, at / RATE_HZ, (at + len(said)) / RATE_HZ))
        pieces += [said, np.zeros(round(line.pause_s * RATE_HZ))]
        at += len(said) + len(pieces[-1])
    sound = in_room(np.concatenate(pieces), spoken, voice)
    samples = np.clip(np.rint(sound * 32767), -32768, 32767).astype(np.int16)
    began = time.process_time()
    segments = tuple(cut_segments([samples]))
    return Recorded(len(samples) / RATE_HZ, tuple(spoken), segments, time.process_time() - began)


def _kept_line(text: str, voice: Voice) -> NDArray[np.float64]:
    key = hashlib.sha256(f"{voice.flite} {voice.stretch} {text}".encode()).hexdigest()
    path = CACHE / f"{key}.npy"
    if not path.is_file():
        CACHE.mkdir(parents=True, exist_ok=True)
        said = speak_line(text, replace(voice, noise_snr_db=None))
        with tempfile.NamedTemporaryFile(dir=CACHE, delete=False) as file:
            np.save(file, said.astype(np.float32))
        Path(file.name).replace(path)
    kept: NDArray[np.float64] = np.load(path).astype(np.float64)
    return kept
