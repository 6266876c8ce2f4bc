"""What was kept of a recording that is over: spoken and pressed, in order."""

from __future__ import annotations

from pathlib import Path

from api.heard_journal import kept_segments
from api.listening import HEARD_JOURNAL
from api.live.presses import PRESS_JOURNAL, Said, presses_in, said_in_order


def kept_said(folder: Path) -> tuple[Said, ...]:
    """Return what was kept in a recording's journals, whichever rules it was kept by.

    Raises:
        JournalError: one of them cannot be read.
    """
    heard, presses = folder / HEARD_JOURNAL, folder / PRESS_JOURNAL
    segments = kept_segments(heard) if heard.exists() else ()
    pressed = presses_in(presses) if presses.exists() else []
    return tuple(said_in_order(segments, pressed, folder.name))
