"""The recorded bench phrases that tests hear, and where each one is (see data/make_bench_talk.py)."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np

from capture.sound import read_sound

DATA = Path(__file__).parent / "data"
RECORDING = DATA / "bench_talk.ogg"


@dataclass(frozen=True)
class Phrase:
    words: str
    voice: str
    start_s: float
    end_s: float


PHRASES = tuple(Phrase(**note) for note in json.loads((DATA / "bench_talk.json").read_text("utf-8")))


@cache
def bench_talk() -> np.ndarray:
    """The whole recording, int16, mono, 16 kHz."""
    sound = np.concatenate(list(read_sound(RECORDING)))
    sound.flags.writeable = False
    return sound


def phrase_sound(words: str) -> np.ndarray:
    """The sound of one phrase, without any silence around it."""
    phrase = next(phrase for phrase in PHRASES if phrase.words == words)
    return bench_talk()[round(phrase.start_s * 16000) : round(phrase.end_s * 16000)]


def speech_power() -> float:
    """Mean power of the phrases."""
    spoken = np.concatenate([phrase_sound(phrase.words) for phrase in PHRASES]).astype(float)
    return float(np.mean(spoken**2))


def shop_noise(samples: int, kind: str, seed: int = 1) -> np.ndarray:
    """Noise of power 1: white, pink, a compressor's hum with its harmonics, or a grinder."""
    random = np.random.default_rng(seed)
    t = np.arange(samples) / 16000
    white = random.standard_normal(samples)
    frequencies = np.fft.rfftfreq(samples, 1 / 16000)
    pink = np.fft.irfft(np.fft.rfft(white) / np.sqrt(np.maximum(frequencies, 20)), samples)
    noise = {
        "white": white,
        "pink": pink,
        "compressor": sum(np.sin(2 * np.pi * k * 48 * t + k) / k for k in range(1, 12))
        + 0.3 * pink / pink.std(),
        "grinder": 0.3 * np.sign(np.sin(2 * np.pi * 220 * t)) + np.convolve(white, [1, -0.9], "same"),
    }[kind]
    return noise / np.sqrt(np.mean(noise**2))


@cache
def in_noise(kind: str, snr_db: float, seed: int = 1) -> np.ndarray:
    """The recording with shop noise at a signal-to-noise ratio over the speech, int16."""
    noise = shop_noise(len(bench_talk()), kind, seed) * np.sqrt(speech_power() / 10 ** (snr_db / 10))
    mixed = np.clip(bench_talk() + noise, -32768, 32767).astype(np.int16)
    mixed.flags.writeable = False
    return mixed
