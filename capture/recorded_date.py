"""The date that a recorder or a phone wrote into a recording's header."""

from __future__ import annotations

from pathlib import Path

from capture.media_file import open_media

#: As containers name it; the first that is there counts.
_NAMES = ("creation_time", "date", "DATE", "ICRD")


def stated_date(path: Path) -> str | None:
    """Return the date in a recording's header as it stands there, unchecked; None where there is none.

    Raises:
        SoundNotFound, SoundUnreadable, SoundEmpty: it cannot be opened.
    """
    with open_media(path) as container:
        said = [container.metadata, *(stream.metadata for stream in container.streams)]
        return next((one[name] for one in said for name in _NAMES if one.get(name)), None)
