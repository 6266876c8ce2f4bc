"""The pictures of a job in the office: beside their entries, and whether they are still what was taken."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from api.report.wording import item_words
from shared.errors import SigningError
from shared.face_words import advice_words, track_words, verdict_words
from shared.record import PhotoEntry
from shared.sheet_entries import words_of


@dataclass(frozen=True)
class EntryPicture:
    """A picture beside its entry."""

    name: str
    """What its files are called by."""
    small: str
    """Which view of it is shown small: face, where there is a drawing of a seal face, or small."""
    whole: str
    """Which view of it opens: face or whole."""
    words: str
    """What it shows, for who cannot see it."""
    judged: tuple[str, ...]
    """What was judged of it, line by line."""


def entry_picture(photo: PhotoEntry) -> EntryPicture:
    """Return how a picture stands beside its entry."""
    face, quality = photo.face_report, photo.quality
    judged: list[str] = []
    if face is not None:
        judged = [f"seal face: {verdict_words(face)}"]
        judged += [track_words(face.track)] if face.track is not None else []
        marks = dict.fromkeys(words_of(mark.kind) for mark in face.defects)
        judged += [f"marks: {', '.join(marks)}"] if marks else []
        judged += advice_words(face)
    elif quality is not None:
        why = ", ".join(words_of(reason) for reason in quality.reasons)
        judged = ["sharp and well lit" if quality.usable else f"not usable: {why}. {quality.advice}"]
    drawn = face is not None
    return EntryPicture(
        name=photo.picture.rpartition("/")[2].partition(".")[0],
        small="face" if drawn else "small",
        whole="face" if drawn else "whole",
        words=f"Picture of {item_words(photo.of) or 'a part that nobody named'}",
        judged=tuple(judged),
    )


def check_pictures(folder: Path, photos: Sequence[PhotoEntry]) -> None:
    """See that the pictures of a record are still those that were taken.

    Args:
        folder: of the job.
        photos: of the record.

    Raises:
        SigningError: one is gone or was changed.
    """
    for photo in photos:
        if photo.sha256 is None:
            continue
        path = folder / photo.picture
        if not path.is_file():
            raise SigningError(
                f"the picture {photo.picture} is gone", remedy="bring it back from a copy of the data"
            )
        if hashlib.sha256(path.read_bytes()).hexdigest() != photo.sha256:
            raise SigningError(
                f"the picture {photo.picture} is not what was taken",
                remedy="bring it back from a copy of the data, or strike its entry",
            )
