"""Which part a photo shows, where nobody wrote it down: the narration nearest in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from shared.job_sheet import JobSheet
from shared.photo import Photo
from shared.record import Evidence, PhotoEntry, Stage

#: Talk of a part farther from a photo than this is not about it.
_REACH_S = 90.0
#: A picture asked for is worth so many seconds against a part only talked about.
_ASKED_S = 20.0
#: How the part of a picture is known, in words.
_BY = {
    "file_name": "file name", "list": "list of photos", "command": "picture asked for",
    "bench": "chosen at the bench",
}  # fmt: skip


@dataclass(frozen=True)
class PartMoment:
    """A moment at which a part was talked about, or a picture of it asked for."""

    part: str
    time_s: float
    asked: bool
    evidence: Evidence


def photo_entries(
    sheet: JobSheet, photos: Sequence[Photo], moments: Sequence[PartMoment]
) -> list[PhotoEntry]:
    """Return the entries of photos, each with its part and stage as far as they can be known.

    One that was taken again stays, superseded by the one that took its place.
    """
    entries = [_entry(sheet, number, photo, moments) for number, photo in enumerate(photos, 1)]
    for photo, entry in zip(photos, entries, strict=True):
        for earlier in entries:
            if photo.replaces is not None and earlier.picture == photo.replaces and earlier is not entry:
                earlier.superseded_by, earlier.superseded_why = entry.id, "measured_again"
    return entries


def _entry(sheet: JobSheet, number: int, photo: Photo, moments: Sequence[PartMoment]) -> PhotoEntry:
    moment = None
    of = photo.of
    if photo.recording:
        moments = [moment for moment in moments if moment.evidence.recording == photo.recording]
    if of is None and photo.time_s is not None:
        moment = _nearest(photo.time_s, moments)
        of = moment.part if moment is not None else None
    entry = PhotoEntry(
        id=f"ph{number}",
        of=of,
        stage=_stage(sheet, photo, of),
        picture=photo.picture,
        thumbnail=photo.thumbnail,
        quality=photo.quality,
        face_report=photo.face_report,
        sha256=photo.sha256,
        evidence=_asked_for(photo, moments) or _evidence(photo, moment),
    )
    if of is None:
        entry.needs_review, entry.reason = True, "nobody said what the picture shows"
    elif photo.quality is not None and not photo.quality.usable:
        entry.reason = photo.quality.advice or ", ".join(photo.quality.reasons)
    return entry


def _nearest(time_s: float, moments: Sequence[PartMoment]) -> PartMoment | None:
    def distance(moment: PartMoment) -> float:
        return abs(moment.time_s - time_s) - (_ASKED_S if moment.asked else 0.0)

    near = [moment for moment in moments if abs(moment.time_s - time_s) <= _REACH_S]
    return min(near, key=distance) if near else None


def _asked_for(photo: Photo, moments: Sequence[PartMoment]) -> Evidence | None:
    """Return the words that a picture was asked for by, where it is known in which recording they are."""
    if photo.assigned_by != "command" or not photo.recording or photo.time_s is None:
        return None
    # A picture's second is kept to a tenth.
    end_s = photo.time_s + 0.1
    said = [m.evidence for m in moments if m.asked and m.part == photo.of and m.time_s <= end_s]
    if not said:
        return None
    return said[-1].model_copy(update={"rule": "photo: picture asked for"})


def _stage(sheet: JobSheet, photo: Photo, of: str | None) -> Stage:
    if photo.stage != "either":
        return photo.stage
    wanted: set[Stage] = {w.stage for w in sheet.photos if w.of == of}
    return wanted.pop() if len(wanted) == 1 else "either"


def _evidence(photo: Photo, moment: PartMoment | None) -> Evidence:
    time_s = photo.time_s if photo.time_s is not None else 0.0
    if moment is not None:
        return moment.evidence.model_copy(update={"rule": "photo: narration nearest in time"})
    by = _BY.get(photo.assigned_by, "nobody")
    return Evidence(
        recording=photo.recording, utterance=-1, start_s=time_s, end_s=time_s, words="", confidence=1.0,
        rule=f"photo: {by}",
    )  # fmt: skip
