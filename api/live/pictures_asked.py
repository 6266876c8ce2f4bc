"""Pictures that were asked for aloud, found in the record as it grows: each is told once."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from extract.picture_stage import stage_said
from shared.record import EventEntry, RebuildRecord, Stage


@dataclass(frozen=True)
class PictureAsked:
    """Somebody said "picture of …"."""

    asked: str
    """What the command is known by, whatever is heard beside it: recording and second."""
    of: str | None
    stage: Stage
    recording: str
    at_s: float


class PicturesAsked:
    """Tells each picture that a record's commands ask for once.

    Args:
        record: what it asks for already was told before.
    """

    def __init__(self, record: RebuildRecord) -> None:
        self._told = {one.asked for one in _asked(record)}

    def new(self, record: RebuildRecord) -> list[PictureAsked]:
        """Return what is asked for since the last time."""
        new = [one for one in _asked(record) if one.asked not in self._told]
        self._told |= {one.asked for one in new}
        return new


def _asked(record: RebuildRecord) -> Iterator[PictureAsked]:
    for event in record.events:
        if event.event == "snapshot":
            yield PictureAsked(
                _key(event),
                event.part,
                stage_said(event.evidence.words),
                event.evidence.recording,
                event.evidence.end_s,
            )


def _key(event: EventEntry) -> str:
    return f"{event.evidence.recording}/{event.evidence.start_s:.1f}/{event.part or ''}"
