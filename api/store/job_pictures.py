"""The pictures that a job's bench took, as its chain of events has them: each an event, none ever taken away.

The picture itself lies in the job's folder under a name that its content gives; what was judged of it lies
beside it and can be made again from it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Literal, cast

from sqlalchemy.orm import Session

from api.picture_keeping import PICTURES, THUMBNAILS
from api.store.job_events import chain_of, note
from api.store.tables import Account
from capture.photos import thumbnail_name
from shared.record import Stage

Source = Literal["browser", "server", "file"]
"""Camera of the bench's browser, camera of the server, a file that was chosen."""
_KIND: Literal["picture_taken"] = "picture_taken"


@dataclass(frozen=True)
class PictureRow:
    """One picture that was taken."""

    sha256: str
    """Of the picture as it is kept."""
    of: str | None
    """Part or photo name of the sheet; None where nobody said."""
    stage: Stage
    recording: str
    """In whose sound it was taken ("002"); empty where nothing was being recorded."""
    at_s: float | None
    """Seconds from that recording's beginning."""
    asked: str | None
    """By which command it was asked for; None where it was by hand."""
    replaces: str | None
    """SHA-256 of the picture that it was taken again for."""
    source: Source

    @property
    def stem(self) -> str:
        """Return what the picture's files are called by: enough of its hash."""
        return self.sha256[:20]

    @property
    def picture(self) -> str:
        """Return the picture's name in the record."""
        return picture_name(self.sha256)

    @property
    def thumbnail(self) -> str:
        """Return its small picture's name in the record."""
        return f"{THUMBNAILS}/{thumbnail_name(f'{self.stem}.jpg')}"

    @property
    def judged(self) -> str:
        """Return where what was judged of it lies."""
        return f"{PICTURES}/{self.stem}.json"


def picture_name(sha256: str) -> str:
    """Return the name in the record of a picture of that hash."""
    return f"{PICTURES}/{sha256[:20]}.jpg"


def keep_picture_row(
    session: Session, job_id: str, row: PictureRow, *, by: Account | None, now: datetime
) -> PictureRow:
    """Add a picture to a job's chain and return it; one that came in twice is not added again.

    Args:
        session: one that writes.
        job_id: of the job.
        row: the picture; its files are on disk.
        by: who was signed in.
        now: the moment.
    """
    for earlier in picture_rows(session, job_id):
        if (earlier.sha256, earlier.of, earlier.stage) == (row.sha256, row.of, row.stage):
            return earlier
    payload = {
        "sha256": row.sha256, "of": row.of, "stage": row.stage, "recording": row.recording,
        # A decimal string, as all that is measured.
        "at_s": None if row.at_s is None else f"{row.at_s:.1f}",
        "asked": row.asked, "replaces": row.replaces, "source": row.source,
    }  # fmt: skip
    note(session, job_id, _KIND, payload, by=by, now=now)
    return row


def picture_rows(session: Session, job_id: str) -> list[PictureRow]:
    """Return the pictures of a job, in the order in which they were taken."""
    return [_row(link.payload) for link in chain_of(session, job_id) if link.kind == _KIND]


def _row(payload: Mapping[str, Any]) -> PictureRow:
    at_s = payload["at_s"]
    return PictureRow(**{**payload, "at_s": None if at_s is None else float(cast(str, at_s))})
