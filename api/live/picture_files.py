"""A bench's picture in its job's folder: the picture, a small one, what was judged of it, drawings of faces.

Nothing of the file that came in is kept but what it shows: it is written anew, without place, time or
camera. The name follows from the content, so that nothing ever overwrites another picture.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from pydantic import BaseModel, ConfigDict

from api.face_drawings import annotated_name, strip_name
from api.face_looking import outer_diameter_mm, shows_face
from api.inspection_folder import jpeg
from api.store.job_pictures import PictureRow
from api.work_folder import WorkFolder
from capture.face.drawing import close_up
from capture.face.inspection import inspect_picture
from capture.face.strip_drawing import strip_picture
from capture.picture_quality import Picture, judge_picture
from capture.pictures import read_picture, write_thumbnail
from shared.job_sheet import JobSheet
from shared.photo import FaceReport, Photo, PictureQuality


class Judgement(BaseModel):
    """What was judged of a picture."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    of: str | None
    """What it was looked at as."""
    quality: PictureQuality
    face_report: FaceReport | None
    """Of a seal face only."""


class PictureFiles:
    """The pictures in the folder of a job.

    Args:
        folder: of the job.
        sheet: of the job; it says which parts have a seal face, and how large.
    """

    def __init__(self, folder: Path, sheet: JobSheet) -> None:
        self._folder, self._sheet = WorkFolder(folder, taken_up=True), sheet

    def keep(self, data: bytes, row: PictureRow) -> None:
        """Write a picture; it is on disk when this returns.

        Args:
            data: the picture's file.
            row: as it is to stand in the job's chain.

        Raises:
            OutputUnwritable: the disk is full, or the folder may not be written.
        """
        self._folder.write(row.picture, data)

    def judgement(self, row: PictureRow) -> Judgement:
        """Return what was judged of a picture that is kept, judging it where nobody did yet.

        Raises:
            OutputUnwritable: what was found cannot be written.
            PictureError: the picture cannot be read any more.
        """
        path = self._folder.path / row.judged
        if path.exists():
            found = Judgement.model_validate_json(path.read_bytes())
            if found.of == row.of:
                return found
        picture = read_picture(self._folder.path / row.picture)
        write_thumbnail(picture, self._folder.path / row.thumbnail)
        report = self._face(picture, row)
        judged = Judgement(of=row.of, quality=judge_picture(picture), face_report=report)
        # Last of all: where it is, the rest is, too.
        self._folder.write(row.judged, judged.model_dump_json(indent=2).encode())
        return judged

    def photo(self, row: PictureRow) -> Photo:
        """Return a picture as the record takes it in; errors as :meth:`judgement`."""
        judged = self.judgement(row)
        return Photo(
            of=row.of,
            stage=row.stage,
            picture=row.picture,
            time_s=row.at_s,
            recording=row.recording,
            assigned_by="command" if row.asked else "bench" if row.of else "nobody",
            replaces=replace(row, sha256=row.replaces).picture if row.replaces else None,
            quality=judged.quality,
            face_report=judged.face_report,
            thumbnail=row.thumbnail,
            sha256=row.sha256,
        )

    def _face(self, picture: Picture, row: PictureRow) -> FaceReport | None:
        if row.of is None or not shows_face(self._sheet, row.of):
            return None
        inspection = inspect_picture(picture, outer_diameter_mm(self._sheet, row.of))
        self._folder.write(annotated_name(row.picture), jpeg(close_up(inspection)))
        strip = strip_picture(inspection)
        if strip is not None:
            self._folder.write(strip_name(row.picture), jpeg(strip))
        return inspection.report
