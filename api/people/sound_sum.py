"""The sum of a recording's sound: what stays of it once the sound itself is gone."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from api.listening import SOUND_JOURNAL
from capture.sound_blocks import RATE_HZ
from capture.sound_journal import read_sound_journal
from shared.errors import JournalError


@dataclass(frozen=True)
class SoundSum:
    """What a recording's sound was."""

    sound_sha256: str | None
    """Over its samples as 16-bit little-endian, mono, 16 kHz; None where there was none to be read."""
    seconds: float

    def payload(self) -> dict[str, Any]:
        """Return it for an event."""
        return asdict(self)


def sound_sum(folder: Path, journal: str = SOUND_JOURNAL) -> SoundSum:
    """Return the sum of the sound of a recording, read block by block.

    Args:
        folder: of the recording.
        journal: the file in it.
    """
    digest, samples = sha256(), 0
    try:
        for block in read_sound_journal(folder / journal).blocks():
            digest.update(block.astype("<i2", copy=False).tobytes())
            samples += len(block)
    except JournalError:
        # Not there, or damaged from its first byte: there is no sound that a sum could stand for.
        return SoundSum(None, 0.0)
    return SoundSum(digest.hexdigest(), round(samples / RATE_HZ, 1))
