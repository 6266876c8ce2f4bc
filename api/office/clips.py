"""A few seconds of a recording, cut out of its journal, as a WAV file; and its peaks, to be drawn."""

from __future__ import annotations

import io
import wave
from itertools import pairwise
from pathlib import Path

import numpy as np

from api.listening import SOUND_JOURNAL
from capture.sound_blocks import RATE_HZ, Samples
from capture.sound_journal import read_sound_journal
from shared.errors import NotKept

#: Seconds: a clip is an utterance and a little; whoever wants it all takes the recording.
LONGEST_S = 60.0


def clip_samples(folder: Path, from_s: float, to_s: float) -> Samples:
    """Return a stretch of a recording (int16, mono, 16 kHz), as far as there is sound.

    Args:
        folder: of the recording.
        from_s: seconds from its beginning.
        to_s: likewise; at most a minute later.

    Raises:
        NotKept: there is no sound any more.
    """
    path = folder / SOUND_JOURNAL
    if not path.exists():
        raise NotKept("the sound of this recording is not kept any more")
    return read_sound_journal(path).between(from_s, min(to_s, from_s + LONGEST_S))


def wav_bytes(samples: Samples) -> bytes:
    """Return samples (int16, mono, 16 kHz) as a WAV file."""
    out = io.BytesIO()
    with wave.open(out, "wb") as file:
        file.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        file.writeframes(samples.astype("<i2", copy=False).tobytes())
    return out.getvalue()


def peaks(samples: Samples, columns: int = 300) -> list[tuple[float, float]]:
    """Return least and greatest sample of each of some equal stretches, as shares of full scale."""
    if not len(samples):
        return []
    edges = np.linspace(0, len(samples), min(columns, len(samples)) + 1).astype(int)
    return [
        (round(float(piece.min()) / 32768, 3), round(float(piece.max()) / 32768, 3))
        for start, end in pairwise(edges)
        for piece in [samples[start:end]]
    ]
