"""A whole recording as a WAV file, piece by piece: two hours never lie in memory."""

from __future__ import annotations

import struct
from collections.abc import Iterator
from pathlib import Path

from capture.sound_blocks import RATE_HZ
from capture.sound_journal import read_sound_journal

#: RIFF/WAVE, PCM, one channel of 16 bits (Multimedia Programming Interface and Data Specifications 1.0, 1991;
#: from memory). Sizes are 32 bits wide: 37 hours at 16 kHz.
_HEADER = struct.Struct("<4sI4s4sIHHIIHH4sI")


def wave_pieces(journal: Path) -> Iterator[bytes]:
    """Yield a WAV file of the sound in a journal.

    Args:
        journal: of sound.

    Raises:
        JournalError: it cannot be read.
    """
    reader = read_sound_journal(journal)
    length = 2 * sum(len(block) for block in reader.blocks())
    yield _HEADER.pack(
        b"RIFF", 36 + length, b"WAVE", b"fmt ", 16, 1, 1, RATE_HZ, 2 * RATE_HZ, 2, 16, b"data", length
    )
    for block in reader.blocks():
        yield block.astype("<i2", copy=False).tobytes()
