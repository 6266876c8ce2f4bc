"""What a browser's fake microphone hears: utterances cut out of the demo's recording."""

from __future__ import annotations

import json
import wave
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from api.office.clips import wav_bytes
from capture.sound import RATE_HZ
from tests.api.processing import RECORDING
from tests.recorded_sound import recorded_sound

#: Before the first word, and after the last: the page needs a moment, and the ear a pause.
_BEFORE_S, _BETWEEN_S, _AFTER_S = 3.0, 0.9, 4.0


def microphone_file(folder: Path, utterances: Sequence[int]) -> Path:
    """Write a WAV file of these utterances of the demo's recording.

    Args:
        folder: for the file.
        utterances: their numbers in the recording's ``times.json``, in the order of telling.
    """
    times = json.loads(RECORDING.with_suffix("").with_suffix(".times.json").read_text("utf-8"))["utterances"]
    sound = recorded_sound(RECORDING)
    # Room tone, not zeros: a bench is never silent.
    tone = sound[: round(0.9 * RATE_HZ)]

    def silence(seconds: float) -> np.ndarray[tuple[int], np.dtype[np.int16]]:
        return np.resize(tone, round(seconds * RATE_HZ))

    pieces = [silence(_BEFORE_S)]
    for number in utterances:
        said = times[number]
        begin, end = (round(said[edge] * RATE_HZ) for edge in ("start_s", "end_s"))
        pieces += [sound[begin:end], silence(_BETWEEN_S)]
    pieces.append(silence(_AFTER_S))
    path = folder / "microphone.wav"
    path.write_bytes(wav_bytes(np.concatenate(pieces)))
    return path


def seconds_of(microphone: Path) -> float:
    """Return how long a microphone's file lasts."""
    with wave.open(str(microphone)) as file:
        return file.getnframes() / file.getframerate()
