"""Sound for benches: bursts of noise where somebody speaks, and what the scripted engine says was said."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from api.live.frames import FRAME_SAMPLES, Frame
from capture.sound import RATE_HZ
from capture.sound_blocks import Samples
from tests.api.processing import RECORDING
from tests.recorded_sound import recorded_sound

SCRIPT = [
    "front clearance vane one eighteen thou",
    "vane two is sixty thou",
    "did you see the match on saturday",
    "finish the job",
]


def spoken(count: int) -> Samples:
    """Real speech, cut into so many utterances with pauses between."""
    sound = recorded_sound(RECORDING)
    word = sound[round(2.0 * RATE_HZ) : round(3.6 * RATE_HZ)]
    # Room tone: dead silence at the edge of a word would be one that was cut off.
    pause = np.resize(sound[: round(0.8 * RATE_HZ)], round(1.2 * RATE_HZ))
    together = np.concatenate([pause, *[piece for _ in range(count) for piece in (word, pause)]])
    return together[: len(together) // FRAME_SAMPLES * FRAME_SAMPLES]


def frames(sound: Samples, start: int = 0) -> Iterator[Frame]:
    for number in range(start, len(sound) // FRAME_SAMPLES):
        yield Frame(number, sound[number * FRAME_SAMPLES : (number + 1) * FRAME_SAMPLES])


def script_file(folder: Path, script: list[object] | None = None) -> Path:
    path = folder / "script.json"
    path.write_text(json.dumps(script or SCRIPT), encoding="utf-8")
    return path
