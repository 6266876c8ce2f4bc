"""Where the sound of a rehearsal comes from: free voices, or the reader's own recordings."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import cycle
from pathlib import Path

import numpy as np

from api.rehearsal import Take
from api.rehearsal_phrases import RehearsalPhrase
from capture.free_voices import VOICES, speak
from capture.sound import read_sound
from shared.errors import SoundNotFound

_NUMBER = re.compile(r"0*(\d+)")


def spoken_takes(phrases: Sequence[RehearsalPhrase], voices: Sequence[str] = VOICES) -> list[Take]:
    """Return every phrase spoken once, the voices taking turns.

    Raises:
        VoiceMissing: there are no voices on this machine.
    """
    turn = cycle(voices)
    return [
        Take(phrase, voice, speak(phrase.text, voice)) for phrase, voice in zip(phrases, turn, strict=False)
    ]


def recorded_takes(phrases: Sequence[RehearsalPhrase], folder: Path) -> list[Take]:
    """Return the phrases that a folder holds recordings of, named by their numbers; others may be missing.

    Raises:
        SoundNotFound: no such folder, or no recording of any phrase in it.
        SoundUnreadable, SoundEmpty: a file that is no recording.
    """
    if not folder.is_dir():
        raise SoundNotFound("no such folder", where=str(folder), expected="recordings 1.wav, 2.wav, …")
    by_number = {phrase.number: phrase for phrase in phrases}
    takes = []
    for path in sorted(path for path in folder.iterdir() if path.is_file()):
        found = _NUMBER.match(path.name)
        phrase = by_number.get(int(found[1])) if found else None
        if phrase is not None:
            takes.append(Take(phrase, path.name, np.concatenate(list(read_sound(path)))))
    if not takes:
        raise SoundNotFound(
            "no recording is named by the number of a phrase",
            where=str(folder),
            expected="1.wav, 2.wav, … in any sound format",
            remedy="see the numbers: --print-phrases",
        )
    return sorted(takes, key=lambda take: take.phrase.number)
