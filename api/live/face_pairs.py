"""A bench's pictures of one face as found and as left, compared: what went away, what stayed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from api.face_looking import face_pairs, outer_diameter_mm, pair_remark
from api.record_making import PICTURE_RULE, MadeWith, Remark, note_of
from capture.face.inspection import Inspection, inspect_picture
from capture.pictures import read_picture
from shared.errors import PictureError
from shared.job_sheet import JobSheet
from shared.record import NoteEntry, PhotoEntry, RebuildRecord


def pair_notes(folder: Path, sheet: JobSheet, record: RebuildRecord) -> list[NoteEntry]:
    """Return what became of the marks of each seal face that was photographed as found and as left.

    Args:
        folder: of the job; its pictures lie there.
        sheet: of the job.
        record: with its pictures.
    """
    made_with = MadeWith(record.made_by.engine)
    remarks = _remarks(folder, sheet, record)
    return [note_of(number, remark, made_with) for number, remark in enumerate(remarks, 1)]


def _remarks(folder: Path, sheet: JobSheet, record: RebuildRecord) -> Iterator[Remark]:
    faces = [photo for photo in record.photos if photo.standing and photo.face_report is not None]
    for before, after in face_pairs(sheet, record, faces):
        try:
            first, last = (_looked_at(folder, sheet, photo) for photo in (before, after))
        except PictureError as exc:
            # The record is kept all the same: what was said must not wait for a picture.
            yield Remark(PICTURE_RULE, f"not compared: {exc.what}")
        else:
            yield pair_remark(before, first, after, last)


def _looked_at(folder: Path, sheet: JobSheet, photo: PhotoEntry) -> Inspection:
    return inspect_picture(read_picture(folder / photo.picture), outer_diameter_mm(sheet, photo.of or ""))
