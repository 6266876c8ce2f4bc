"""A recording's sound, decoded once a process: that takes longer than what most tests do with it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from capture.sound import read_sound
from capture.sound_blocks import Samples


@cache
def recorded_sound(path: Path) -> Samples:
    """Return all of it, int16, mono, 16 kHz; not to be written to, since others use it too."""
    sound = np.concatenate(list(read_sound(path).blocks()))
    sound.flags.writeable = False
    return sound
