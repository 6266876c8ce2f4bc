"""Sound as a browser sends it: numbered frames of a tenth of a second, at 16 kHz.

Frame N holds the samples from N x 1600 on, so that the journal alone says which frame comes next,
after a lost connection and after a crash alike.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass

import numpy as np

from capture.sound_blocks import Samples
from shared.errors import FrameDamaged

FRAME_SAMPLES = 1600
_NUMBER = struct.Struct(">Q")
_BYTES = _NUMBER.size + 2 * FRAME_SAMPLES
#: A year of sound: a larger number is no frame of ours.
_MOST = 365 * 24 * 3600 * 10


@dataclass(frozen=True)
class Frame:
    """One tenth of a second of sound."""

    number: int
    """From 0."""
    samples: Samples
    """int16, mono, 16 kHz, 1600 of them."""


def frame_from(data: bytes) -> Frame:
    """Read a frame: its number (8 bytes, big-endian), then 1600 samples (16 bits, little-endian).

    Raises:
        FrameDamaged: no frame.
    """
    if len(data) != _BYTES:
        raise FrameDamaged(f"a frame of {len(data)} bytes", expected=f"{_BYTES}")
    (number,) = _NUMBER.unpack_from(data)
    if number > _MOST:
        raise FrameDamaged(f"a frame with number {number}", expected="frames counted from 0")
    return Frame(number, np.frombuffer(data, "<i2", offset=_NUMBER.size).astype(np.int16))


def frame_bytes(number: int, samples: Samples) -> bytes:
    """Return a frame as it travels.

    Args:
        number: from 0.
        samples: int16, mono, 16 kHz, 1600 of them.
    """
    return _NUMBER.pack(number) + samples.astype("<i2", copy=False).tobytes()
