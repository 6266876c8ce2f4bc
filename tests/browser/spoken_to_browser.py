"""What a browser's fake microphone hears: any words, spoken by a free voice."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from api.office.clips import wav_bytes
from capture.free_voices import speak
from capture.sound_blocks import RATE_HZ

_ROOM_LEVEL = 26.0
#: Before the first word, and after the last: the page needs a moment, and the ear a pause.
_BEFORE_S, _AFTER_S = 3.0, 20.0


def spoken_microphone(folder: Path, lines: Sequence[str], *, between_s: float, voice: str = "slt") -> Path:
    """Write a WAV file of these lines with room between them for the bench to answer."""
    noise = np.random.default_rng(1)

    def quiet(seconds: float) -> np.ndarray[tuple[int], np.dtype[np.int16]]:
        room = noise.standard_normal(round(seconds * RATE_HZ)) * _ROOM_LEVEL
        return np.asarray(np.rint(room), np.int16)

    pieces = [quiet(_BEFORE_S)]
    for line in lines:
        pieces += [speak(line, voice), quiet(between_s)]
    pieces.append(quiet(_AFTER_S))
    path = folder / "spoken.wav"
    path.write_bytes(wav_bytes(np.concatenate(pieces)))
    return path
