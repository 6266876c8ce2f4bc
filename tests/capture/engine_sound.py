"""Segments for the engines' tests: one utterance of a fixture, silence, and noise."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from capture.segments import Segment
from capture.sound import RATE_HZ, read_sound

RECORDING = Path(__file__).parents[2] / "fixtures" / "recordings" / "wash-water-end-suction.ogg"
#: "new impeller bolt with thread locker on it seventy foot pounds", with silence at both ends.
START_S, END_S = 185.3, 190.3


@cache
def spoken() -> np.ndarray:
    """The sound of that utterance, int16, mono, 16 kHz."""
    sound = np.concatenate(list(read_sound(RECORDING)))[round(START_S * RATE_HZ) : round(END_S * RATE_HZ)]
    sound.flags.writeable = False
    return sound


def segment(samples: np.ndarray | None = None, *, start_s: float = START_S) -> Segment:
    """A segment of the recording; by default that utterance."""
    samples = spoken() if samples is None else samples
    return Segment(0, start_s, start_s + len(samples) / RATE_HZ, samples)


def noise(level: float, length_s: float = 3.0) -> np.ndarray:
    """White noise of so much root mean square, int16."""
    samples = np.random.default_rng(5).standard_normal(round(length_s * RATE_HZ)) * level
    return np.clip(samples, -32768, 32767).astype(np.int16)
