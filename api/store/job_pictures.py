"""The pictures that a job's bench took, as its chain of events has them: each an event, none ever taken away.

The picture itself lies in the job's folder under a name that its content gives; what was judged of it lies
beside it and can be made again from it.
"""

from __future__ import annotations

import re
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
#: What is no part of a name that a sheet or the lexicon gives a part.
_NO_NAME = re.compile(r"[^a-z0-9_]")
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

    def shows_as(self, other: PictureRow) -> bool:
        """Tell whether two are one picture that came in twice."""
        return (self.sha256, self.of, self.stage) == (other.sha256, other.of, other.stage)

    @property
    def stem(self) -> str:
        """Return what the picture's files are called by: its part, for people, and enough of its hash."""
        return f"{_NO_NAME.sub('', self.of or '')[:40] or 'picture'}-{self.sha256[:12]}"

    @property
    def picture(self) -> str:
        """Return the picture's name in the record."""
        return f"{PICTURES}/{self.stem}.jpg"

    @property
    def thumbnail(self) -> str:
        """Return its small picture's name in the record."""
        return f"{THUMBNAILS}/{thumbnail_name(f'{self.stem}.jpg')}"

    @property
    def judged(self) -> str:
        """Return where what was judged of it lies."""
        return f"{PICTURES}/{self.stem}.json"


def keep_picture_row(session: Session, job_id: str, row: PictureRow, *, by: Account, now: datetime) -> None:
    """Add a picture to a job's chain.

    Args:
        session: one that writes.
        job_id: of the job.
        row: the picture; its file is on disk.
        by: who was signed in.
        now: the moment.
    """
    payload = {
        "sha256": row.sha256, "of": row.of, "stage": row.stage, "recording": row.recording,
        # A decimal string, as all that is measured.
        "at_s": None if row.at_s is None else f"{row.at_s:.1f}",
        "asked": row.asked, "replaces": row.replaces, "source": row.source,
    }  # fmt: skip
    note(session, job_id, _KIND, payload, by=by, now=now)


def picture_rows(session: Session, job_id: str) -> list[PictureRow]:
    """Return the pictures of a job, in the order in which they were taken."""
    return [_row(link.payload) for link in chain_of(session, job_id) if link.kind == _KIND]


def _row(payload: Mapping[str, Any]) -> PictureRow:
    at_s = payload["at_s"]
    return PictureRow(**{**payload, "at_s": None if at_s is None else float(cast(str, at_s))})
