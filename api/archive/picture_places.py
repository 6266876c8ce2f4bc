"""Where a picture of the archive lies, and by which addresses the server shows it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from api.face_drawings import annotated_name
from api.past.reading import FOLDER
from api.picture_keeping import PICTURES, THUMBNAILS
from capture.photos import thumbnail_name

_SOURCE = re.compile(r"file:([0-9a-f]{64})")
#: A picture as a record names it; a name that leads elsewhere is none.
_NAME = re.compile(rf"{PICTURES}/([^/\\\x00]+\.(?:jpe?g|png))", re.IGNORECASE)


@dataclass(frozen=True)
class Shown:
    """Two addresses of one picture."""

    small: str
    """The drawing of the face where there is one."""
    whole: str


def picture_shown(
    data_folder: Path, record_id: int, source: str, job_id: str | None, entry_id: int, picture: str | None
) -> Shown | None:
    """Return where a picture is shown, or None where this shop does not have it.

    Args:
        data_folder: of the shop.
        record_id: in the archive.
        source: as the archive calls it.
        job_id: of the record; None of a recording from before.
        entry_id: of the picture, in the archive.
        picture: its name in the record.
    """
    if not picture:
        return None
    if job_id is None:
        if past_picture(data_folder, source, picture) is None:
            return None
        root = f"/past-pictures/{record_id}/{entry_id}"
        return Shown(f"{root}/small", f"{root}/whole")
    place = data_folder / "jobs" / job_id
    if not (place / picture).is_file():
        return None
    stem = picture.rpartition("/")[2].partition(".")[0]
    drawn = (place / annotated_name(picture)).is_file()
    root = f"/office/{job_id}/pictures/{stem}"
    return Shown(f"{root}/face", f"{root}/face") if drawn else Shown(f"{root}/small", f"{root}/whole")


def past_picture(data_folder: Path, source: str, picture: str, *, small: bool = False) -> Path | None:
    """Return the file of a picture of a recording from before; None where it is not kept here.

    A frame of a video is called by what was said when it was taken, so that any reading that has one of the
    name will do; the newest is taken.

    Args:
        data_folder: of this machine.
        source: as the archive calls the recording.
        picture: its name in the record.
        small: its small picture, where there is one.
    """
    named, name = _SOURCE.fullmatch(source), _NAME.fullmatch(picture)
    if named is None or name is None:
        return None
    readings = (data_folder / FOLDER / named[1]).glob("*")
    found = [one for one in readings if (one / picture).is_file()]
    if not found:
        return None
    newest = max(found, key=lambda one: ((one / picture).stat().st_mtime_ns, one.name))
    reduced = newest / THUMBNAILS / thumbnail_name(name[1])
    return reduced if small and reduced.is_file() else newest / picture
