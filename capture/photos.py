"""A folder of photos: which part and stage each shows, whether it is any good, and what could not be used."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from capture.exif import seconds_between
from capture.file_kinds import file_kind, read_head
from capture.photo_list import (
    LIST_NAME,
    ListedPhoto,
    PhotoList,
    PhotoProblem,
    list_key,
    read_photo_list,
)
from capture.photo_names import PhotoNames
from capture.picture_quality import judge_picture
from capture.pictures import read_picture, read_picture_file, write_thumbnail
from shared.errors import PictureError, PictureNotFound, PictureUnreadable
from shared.job_sheet import JobSheet
from shared.photo import Photo

__all__ = [
    "Photo", "PhotoFolder", "PhotoProblem", "read_photo_folder", "read_picture", "thumbnail_name",
    "write_thumbnail",
]  # fmt: skip

_PICTURE_ENDINGS = {
    ".jpg", ".jpeg", ".jpe", ".png", ".webp", ".tif", ".tiff", ".bmp", ".gif", ".heic", ".heif", ".avif",
}  # fmt: skip
#: What systems leave in folders of pictures.
_LITTER = {"thumbs.db", "desktop.ini"}


@dataclass(frozen=True, slots=True)
class PhotoFolder:
    """The photos of a folder, in the order of their names, and what could not be used."""

    photos: tuple[Photo, ...]
    problems: tuple[PhotoProblem, ...]


def check_photo_folder(folder: Path) -> None:
    """Refuse what is no folder before anything else is done.

    Raises:
        PictureNotFound: no such folder.
    """
    if not folder.is_dir():
        what = "this is no folder" if folder.exists() else "no such folder"
        raise PictureNotFound(what, where=str(folder), expected="a folder of pictures")


def read_photo_folder(
    folder: Path | str,
    sheet: JobSheet,
    *,
    recording_started: datetime | None = None,
    thumbnails: Path | None = None,
) -> PhotoFolder:
    """Read every picture of a folder; one that cannot be read is reported and the others go on.

    A photo's part and stage come from ``photos.csv`` if it is listed there, else from its file name. If
    neither says, ``of`` is None and ``assigned_by`` nobody: what was said at ``time_s`` may tell. That
    time is the list's, or the camera's if it is known when the recording started.

    Args:
        folder: its subfolders are left out.
        sheet: the job sheet whose photos and parts they may show.
        recording_started: when the recording began, by the clock.
        thumbnails: where to write a small picture of each; None for none.

    Raises:
        PictureNotFound: no such folder.
        PictureUnreadable: the folder itself cannot be read.
        OutputUnwritable: a thumbnail cannot be written.
    """
    folder = Path(folder)
    check_photo_folder(folder)
    try:
        paths = sorted(folder.iterdir(), key=lambda path: _natural(path.name))
    except OSError as exc:
        raise PictureUnreadable(f"the folder cannot be read ({exc.strerror})", where=str(folder)) from exc
    names = PhotoNames(sheet)
    reading = _FolderReading(names, _listed(paths, names), recording_started, thumbnails)
    for path in paths:
        reading.take(path)
    return reading.result()


def pictures_in(folder: Path | str) -> list[Path]:
    """Return the pictures of a folder in the order of their names; its subfolders are left out.

    Raises:
        PictureNotFound: no such folder, or no picture in it.
        PictureUnreadable: the folder itself, or a file of it, cannot be read.
    """
    folder = Path(folder)
    check_photo_folder(folder)
    try:
        found = [path for path in folder.iterdir() if _looks_like_picture(path)]
    except OSError as exc:
        raise PictureUnreadable(f"the folder cannot be read ({exc.strerror})", where=str(folder)) from exc
    if not found:
        raise PictureNotFound("there is no picture in the folder", where=str(folder))
    return sorted(found, key=lambda path: _natural(path.name))


def _looks_like_picture(path: Path) -> bool:
    if path.name.startswith(".") or not path.is_file():
        return False
    if path.suffix.lower() in _PICTURE_ENDINGS:
        return True
    kind = file_kind(read_head(path))
    return kind is not None and kind.family == "picture"


def thumbnail_name(picture: str) -> str:
    """Return the file name of a picture's thumbnail (``seat.png`` and ``seat.jpg`` have one each)."""
    return f"{picture}.thumbnail.jpg"


class _FolderReading:
    def __init__(
        self, names: PhotoNames, listed: PhotoList, started: datetime | None, thumbnails: Path | None
    ) -> None:
        self._names, self._listed = names, listed
        self._started, self._thumbnails = started, thumbnails
        self._photos: list[Photo] = []
        self._problems: list[PhotoProblem] = list(listed.problems)
        self._seen: set[str] = set()

    def take(self, path: Path) -> None:
        name = path.name
        if path.is_dir() or name.startswith(".") or name.lower() in {*_LITTER, LIST_NAME}:
            return
        self._seen.add(list_key(name))
        if not self._is_meant_as_picture(path):
            return
        try:
            self._photos.append(self._photo(path))
        except PictureError as error:
            self._problems.append(PhotoProblem(name, _without_where(error)))

    def result(self) -> PhotoFolder:
        for key, listed in self._listed.photos.items():
            if key not in self._seen:
                text = f"no picture {listed.file!r} in the folder"
                self._problems.append(PhotoProblem(LIST_NAME, text, listed.line, "file"))
        return PhotoFolder(tuple(self._photos), tuple(self._problems))

    def _is_meant_as_picture(self, path: Path) -> bool:
        if path.suffix.lower() in _PICTURE_ENDINGS or list_key(path.name) in self._listed.photos:
            return True
        try:
            kind = file_kind(read_head(path))
        except OSError as exc:
            self._problems.append(PhotoProblem(path.name, f"left out: it cannot be read ({exc.strerror})"))
            return False
        if kind is not None and kind.family == "picture":
            return True
        what = f"this is {kind.name}" if kind is not None else "this is no picture"
        self._problems.append(PhotoProblem(path.name, f"left out: {what}"))
        return False

    def _photo(self, path: Path) -> Photo:
        read = read_picture_file(path)
        listed = self._listed.photos.get(list_key(path.name), ListedPhoto(path.name, 0, None, None, None))
        named = self._names.read(path.stem)
        of = listed.of or named.of
        if of is None and named.rivals:
            said = f"its name may mean {' or '.join(named.rivals)}; say which in {LIST_NAME}"
            self._problems.append(PhotoProblem(path.name, said))
        thumbnail = None
        if self._thumbnails is not None:
            thumbnail = thumbnail_name(path.name)
            write_thumbnail(read.picture, self._thumbnails / thumbnail)
        return Photo(
            of=of,
            stage=listed.stage or named.stage,
            picture=path.name,
            time_s=self._time_s(listed, read.taken_at),
            assigned_by="list" if listed.of else "file_name" if named.of else "nobody",
            quality=judge_picture(read.picture),
            thumbnail=thumbnail,
            sha256=read.sha256,
        )

    def _time_s(self, listed: ListedPhoto, taken: datetime | None) -> float | None:
        if listed.time_s is not None:
            return listed.time_s
        if taken is None or self._started is None:
            return None
        seconds = seconds_between(self._started, taken)
        # Taken before the recording began: no moment of it.
        return seconds if seconds >= 0 else None


def _listed(paths: list[Path], names: PhotoNames) -> PhotoList:
    for path in paths:
        if path.name.lower() == LIST_NAME and path.is_file():
            return read_photo_list(path, names)
    return PhotoList({}, ())


def _without_where(error: PictureError) -> str:
    """Return an error's line without the path, which the problem names already."""
    return str(error).removeprefix(f"{error.where}: ")


def _natural(name: str) -> list[tuple[int, int, str]]:
    """Return a key that sorts img_2 before img_10."""
    pieces = re.findall(r"\d+|\D+", name.lower())
    return [(0, int(piece), "") if piece.isdecimal() else (1, 0, piece) for piece in pieces]
