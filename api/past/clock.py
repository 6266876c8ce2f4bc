"""When a recording was made, as its file tells it, and why that is not believed where it is not.

A recorder whose battery ran out begins at its year zero; copying changes the time of a file. What is
doubtful is said, and a date that cannot be is not taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from capture.recorded_date import stated_date

#: Before it no recorder wrote files like these; clocks that were never set begin at 1904, 1970, 1980 or 2000.
_FIRST = datetime(2000, 1, 2, tzinfo=UTC)
#: Clocks and zones of machines may differ by so much.
_SLACK = timedelta(days=1)


@dataclass(frozen=True)
class RecordedWhen:
    """When a recording began, as far as it is known."""

    began: datetime | None
    doubt: str | None
    """Why that is not sure, or why nothing is known, in words."""


def recorded_when(path: Path, length_s: float | None, *, now: datetime) -> RecordedWhen:
    """Return when a recording began.

    Args:
        path: of its file.
        length_s: how long it is, seconds, where known.
        now: the present moment.
    """
    changed = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    stated = stated_date(path)
    if stated is None:
        ended = _believed(changed, now)
        if ended is None:
            return RecordedWhen(None, "nothing in the file says when it was recorded")
        began = ended - timedelta(seconds=length_s or 0.0)
        return RecordedWhen(
            began, "dated by when the file was last changed, for nothing in it says when it was recorded"
        )
    found = _parsed(stated)
    if found is None:
        return RecordedWhen(None, "the file's own date cannot be read")
    if _believed(found, now) is None:
        return RecordedWhen(None, f"the recorder's clock was wrong: it says {found:%Y-%m-%d}")
    if found > changed + _SLACK:
        said = f"it says {found:%Y-%m-%d}, the file was last changed {changed:%Y-%m-%d}"
        return RecordedWhen(None, f"the recorder's clock was wrong: {said}")
    return RecordedWhen(found, None)


def _believed(moment: datetime, now: datetime) -> datetime | None:
    return moment if _FIRST <= moment <= now + _SLACK else None


def _parsed(text: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError:
        return None
    return found if found.tzinfo else found.replace(tzinfo=UTC)
