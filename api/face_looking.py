"""Seal faces in the pictures of a job: which show one, what they show, and the drawings for the report."""

from __future__ import annotations

from collections.abc import Sequence

from api.face_drawings import annotated_name, strip_name
from api.inspection_folder import jpeg
from api.work_folder import WorkFolder
from capture.face.drawing import close_up
from capture.face.inspection import inspect_picture
from capture.face.strip_drawing import strip_picture
from capture.pictures import read_picture
from extract.shop.causes import is_seal_face
from shared.job_sheet import JobSheet
from shared.photo import FaceReport
from shared.record import PhotoEntry


def look_at_faces(folder: WorkFolder, sheet: JobSheet, photos: Sequence[PhotoEntry]) -> dict[str, FaceReport]:
    """Inspect the pictures that show a seal face, draw what was found, and return their reports by name.

    Raises:
        OutputUnwritable: a drawing cannot be written.
        PictureError: a picture that was read before cannot be read any more.
    """
    reports: dict[str, FaceReport] = {}
    for photo in photos:
        if photo.of is None or not photo.standing or not shows_face(sheet, photo.of):
            continue
        picture = read_picture(folder.path / photo.picture)
        inspection = inspect_picture(picture, outer_diameter_mm(sheet, photo.of))
        reports[photo.picture] = inspection.report
        folder.write(annotated_name(photo.picture), jpeg(close_up(inspection)))
        strip = strip_picture(inspection)
        if strip is not None:
            folder.write(strip_name(photo.picture), jpeg(strip))
    return reports


def shows_face(sheet: JobSheet, of: str) -> bool:
    """Tell whether a photo of this name shows the face of a seal: by its diameter or by its name."""
    part = sheet.part_names.get(of)
    return outer_diameter_mm(sheet, of) is not None or is_seal_face((of, *(part.spoken if part else ())))


def outer_diameter_mm(sheet: JobSheet, of: str) -> float | None:
    """Return the outside diameter that the sheet gives for the face in a photo; None where it gives none."""
    given = [photo.outer_diameter_mm for photo in sheet.photos if photo.of == of]
    return next((float(diameter) for diameter in given if diameter is not None), None)
