"""Phrases spoken by free voices, for rehearsals and trials. Needs the system program flite."""

from __future__ import annotations

import shutil
import subprocess
import tempfile
import zlib
from pathlib import Path

import numpy as np

from capture.sound import read_sound
from capture.sound_blocks import RATE_HZ, Samples
from shared.errors import VoiceMissing

#: Built from recordings of people: a man's and a woman's (US), a Scottish man's.
VOICES = ("rms", "slt", "awb")
#: flite reads what is written. These are written the way that they are said in a shop.
SAID = {
    "thou": "thow", "thou's": "thows", "runout": "run out", "psi": "p s i", "metre": "meter",
    "metres": "meters", "millimetre": "millimeter", "reusing": "re using",
}  # fmt: skip
_PAUSE_S = 0.5
#: Of a quiet room, in steps of the converter: about -62 dBFS.
_ROOM_LEVEL = 26.0
_LONGEST_S = 30


def speak(text: str, voice: str) -> Samples:
    """Return a phrase in a quiet room with silence at both ends; int16, mono, 16 kHz.

    Args:
        text: words, no figures.
        voice: one of :data:`VOICES`.

    Raises:
        VoiceMissing: flite is not installed, or has no such voice.
    """
    program = shutil.which("flite")
    if program is None:
        raise VoiceMissing(
            "the system program flite, which speaks the phrases, is not installed",
            remedy="install flite, or read the phrases yourself: --print-phrases, then --recordings DIR",
        )
    said = " ".join(SAID.get(word, word) for word in text.split())
    with tempfile.TemporaryDirectory(prefix="witnessmark-") as folder:
        path = Path(folder) / "phrase.wav"
        done = subprocess.run(  # noqa: S603  words of a sheet, passed as one argument
            [program, "-voice", voice, "-t", said, "-o", str(path)],
            capture_output=True, check=False, timeout=_LONGEST_S,
        )  # fmt: skip
        if done.returncode or not path.is_file():
            raise VoiceMissing(f"flite cannot speak with the voice {voice!r}", remedy="install its voices")
        voiced = np.concatenate(list(read_sound(path)))
    quiet = np.zeros(round(_PAUSE_S * RATE_HZ))
    sound = np.concatenate([quiet, voiced, quiet])
    room = np.random.default_rng(zlib.crc32(text.encode())).standard_normal(len(sound)) * _ROOM_LEVEL
    spoken: Samples = np.clip(np.rint(sound + room), -32768, 32767).astype(np.int16)
    return spoken
