"""Pictures of a job in its output folder: copies of the photos, frames of the video, thumbnails of both."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Sequence
from pathlib import Path

import cv2

from api.face_drawings import annotated_name, strip_name
from api.face_looking import look_at_faces
from api.record_making import PICTURE_RULE, Remark
from api.work_folder import WorkFolder
from capture.photos import read_photo_folder, thumbnail_name
from capture.pictures import write_thumbnail
from capture.video import has_video, sharpest_frame
from shared.errors import PictureError
from shared.job_sheet import JobSheet
from shared.photo import FaceReport, Photo
from shared.record import EventEntry, PhotoEntry, RebuildRecord

PICTURES = "pictures"
THUMBNAILS = "thumbnails"
#: Seconds after a picture is asked for in which the camera is expected to show it sharply.
LOOK_S = 3.0


class PictureKeeper:
    """Brings the pictures of one job into its folder.

    Raises:
        PictureNotFound, PictureUnreadable: the folder of photos is none, or cannot be read.
        OutputUnwritable: the job's folder cannot be written.

    Args:
        folder: of the job.
        sheet: whose parts they show.
        photos: the folder that the photos are in, or None.
        recording: looked at for frames where it is a video.
    """

    def __init__(self, folder: WorkFolder, sheet: JobSheet, photos: Path | None, recording: Path) -> None:
        self.remarks: list[Remark] = []
        """What could not be used, and why."""
        self._folder = folder
        self._sheet = sheet
        self._recording = recording
        # First of all: the photos are safe, and a folder that is none is refused, before anybody waits.
        self._photos = self._of_folder(photos, sheet) if photos is not None else []

    def see(self, events: Sequence[EventEntry]) -> Iterator[Photo]:
        """Yield the photos of the folder, then a frame for each picture that was asked for aloud."""
        yield from self._photos
        asked = [event for event in events if event.event == "snapshot"]
        if asked and has_video(self._recording):
            yield from self._of_video(asked)

    def look(self, record: RebuildRecord) -> dict[str, FaceReport]:
        """Return what the pictures of seal faces show, by the name in the record."""
        seen = look_at_faces(self._folder, self._sheet, record)
        self.remarks += seen.remarks
        return seen.reports

    def shown(self, photos: Sequence[PhotoEntry]) -> dict[str, bytes]:
        """Return the bytes of the pictures that a report shows, by the name in the record."""
        return shown_pictures(self._folder.path, photos)

    def _of_folder(self, photos: Path, sheet: JobSheet) -> list[Photo]:
        found = read_photo_folder(photos, sheet, thumbnails=self._folder.path / THUMBNAILS)
        self.remarks += [Remark(PICTURE_RULE, str(problem)) for problem in found.problems]
        for photo in found.photos:
            self._folder.write(f"{PICTURES}/{photo.picture}", (photos / photo.picture).read_bytes())
        return [_placed(photo) for photo in found.photos]

    def _of_video(self, asked: Sequence[EventEntry]) -> Iterator[Photo]:
        for event in asked:
            at_s = event.evidence.end_s
            try:
                frame = sharpest_frame(self._recording, at_s, LOOK_S)
            except PictureError as exc:
                self.remarks.append(Remark(PICTURE_RULE, f"no picture of the video: {exc.what}", at_s))
                continue
            encoded, data = cv2.imencode(".jpg", frame.picture, [cv2.IMWRITE_JPEG_QUALITY, 92])
            assert encoded
            name = f"{event.part or 'snapshot'}_{event.evidence.utterance + 1:03d}.jpg"
            self._folder.write(f"{PICTURES}/{name}", data.tobytes())
            write_thumbnail(frame.picture, self._folder.path / THUMBNAILS / thumbnail_name(name))
            yield _placed(
                Photo(
                    of=event.part,
                    picture=name,
                    time_s=frame.time_s,
                    assigned_by="command",
                    quality=frame.quality,
                    thumbnail=thumbnail_name(name),
                    sha256=hashlib.sha256(data.tobytes()).hexdigest(),
                )
            )


def shown_pictures(folder: Path, photos: Sequence[PhotoEntry]) -> dict[str, bytes]:
    """Return the bytes of the pictures that a report shows, by the name in the record.

    Args:
        folder: that the names in the record are relative to.
        photos: of the record.
    """
    names = {photo.thumbnail or photo.picture for photo in photos}
    faces = [photo.picture for photo in photos if photo.face_report is not None]
    names |= {name(picture) for picture in faces for name in (annotated_name, strip_name)}
    paths = {name: folder / name for name in sorted(names)}
    return {name: path.read_bytes() for name, path in paths.items() if path.is_file()}


def _placed(photo: Photo) -> Photo:
    """Return a photo with its names relative to the record."""
    thumbnail = f"{THUMBNAILS}/{photo.thumbnail}" if photo.thumbnail else None
    return photo.model_copy(update={"picture": f"{PICTURES}/{photo.picture}", "thumbnail": thumbnail})
