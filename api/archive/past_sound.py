"""The sound of recordings from before, where this machine keeps it."""

from __future__ import annotations

import re
from pathlib import Path

from api.listening import SOUND_JOURNAL
from api.past.reading import FOLDER

_SOURCE = re.compile(r"file:([0-9a-f]{64})")


def past_sound_folder(data_folder: Path, source: str) -> Path | None:
    """Return the folder that holds the sound of a recording from before; None where there is none.

    All readings of a recording have the same sound, so that any of them will do.

    Args:
        data_folder: of this machine.
        source: as the archive calls it.
    """
    named = _SOURCE.fullmatch(source)
    if named is None:
        return None
    found = sorted((data_folder / FOLDER / named[1]).glob(f"*/{SOUND_JOURNAL}"))
    return found[0].parent if found else None
