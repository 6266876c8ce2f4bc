"""Seal faces in the pictures of a job: which show one, what they show, and the drawings for the report."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from api.face_comparison import pair_lines
from api.face_drawings import annotated_name, strip_name
from api.inspection_folder import jpeg
from api.record_making import Remark
from api.work_folder import WorkFolder
from capture.face.drawing import close_up
from capture.face.inspection import Inspection, inspect_picture
from capture.face.pairs import compare_faces
from capture.face.strip_drawing import strip_picture
from capture.pictures import read_picture
from extract.shop.causes import is_seal_face
from shared.job_sheet import JobSheet
from shared.photo import FaceReport
from shared.record import PhotoEntry, RebuildRecord
from shared.sheet_entries import words_of

#: What is said of a face as found and as left is filed under this.
PAIR_RULE = "as found against as left"


@dataclass(frozen=True)
class FacesSeen:
    """What the pictures of a job show of its seal faces."""

    reports: dict[str, FaceReport]
    """By the picture's name in the record."""
    remarks: list[Remark]
    """What became of the marks of a face that was photographed as found and as left."""


def look_at_faces(folder: WorkFolder, sheet: JobSheet, record: RebuildRecord) -> FacesSeen:
    """Inspect the pictures that show a seal face, and draw what was found.

    Raises:
        OutputUnwritable: a drawing cannot be written.
        PictureError: a picture that was read before cannot be read any more.
    """
    looked: list[tuple[PhotoEntry, Inspection]] = []
    for photo in record.photos:
        if photo.of is None or not photo.standing or not shows_face(sheet, photo.of):
            continue
        picture = read_picture(folder.path / photo.picture)
        inspection = inspect_picture(picture, outer_diameter_mm(sheet, photo.of))
        looked.append((photo, inspection))
        folder.write(annotated_name(photo.picture), jpeg(close_up(inspection)))
        strip = strip_picture(inspection)
        if strip is not None:
            folder.write(strip_name(photo.picture), jpeg(strip))
    reports = {photo.picture: inspection.report for photo, inspection in looked}
    return FacesSeen(reports, list(_compared(sheet, record, looked)))


def _compared(
    sheet: JobSheet, record: RebuildRecord, looked: Sequence[tuple[PhotoEntry, Inspection]]
) -> Iterator[Remark]:
    """Yield what became of the marks of each face that goes back, its first picture against its last."""
    seen = {photo.picture: inspection for photo, inspection in looked}
    for before, after in face_pairs(sheet, record, [photo for photo, _ in looked]):
        yield pair_remark(before, seen[before.picture], after, seen[after.picture])


def face_pairs(
    sheet: JobSheet, record: RebuildRecord, photos: Sequence[PhotoEntry]
) -> Iterator[tuple[PhotoEntry, PhotoEntry]]:
    """Yield the first picture as found and the last as left of each face that goes back.

    Args:
        sheet: of the job.
        record: says which parts were renewed.
        photos: those of it that stand and show a seal face.
    """
    renewed = {entry.part for entry in record.parts if entry.standing and entry.action == "renewed"}
    renewed |= {below for part in renewed for below in sheet.covered_by(part)}
    for of in dict.fromkeys(photo.of for photo in photos):
        found = [photo for photo in photos if photo.of == of and photo.stage == "as_found"]
        left = [photo for photo in photos if photo.of == of and photo.stage == "as_left"]
        if of is not None and of not in renewed and found and left:
            yield found[0], left[-1]


def pair_remark(before: PhotoEntry, first: Inspection, after: PhotoEntry, last: Inspection) -> Remark:
    """Return what became of the marks of a face between two pictures, inspected."""
    said = "; ".join(pair_lines(compare_faces(first, last)))
    return Remark(PAIR_RULE, f"{words_of(before.of or '')}, {before.picture} against {after.picture}: {said}")


def shows_face(sheet: JobSheet, of: str) -> bool:
    """Tell whether a photo of this name shows the face of a seal: by its diameter or by its name."""
    part = sheet.part_names.get(of)
    return outer_diameter_mm(sheet, of) is not None or is_seal_face((of, *(part.spoken if part else ())))


def outer_diameter_mm(sheet: JobSheet, of: str) -> float | None:
    """Return the outside diameter that the sheet gives for the face in a photo; None where it gives none."""
    given = [photo.outer_diameter_mm for photo in sheet.photos if photo.of == of]
    return next((float(diameter) for diameter in given if diameter is not None), None)
