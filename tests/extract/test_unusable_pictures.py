"""A picture in which nothing can be seen is still wanted, in the record and in its review."""

from __future__ import annotations

import pytest

from extract.record_builder import RecordBuilder
from extract.reviewing import Decision, reviewed
from shared.job_sheet import load_job_sheet
from shared.photo import FaceReport, Photo, PictureQuality
from shared.record import RebuildRecord

SHEET = load_job_sheet("wash-water-end-suction")
SEAT, WANTED = "stationary_seat", "photo of stationary seat: "
FACE, NO_FACE = FaceReport(usable=True), FaceReport(usable=False, reasons=["glare"], advice="Move the lamp.")


def quality(usable: bool) -> PictureQuality:
    return PictureQuality(usable=usable, sharpness=100.0, dark_share=0.0, bright_share=0.0)


def picture(name: str, usable: bool, face: FaceReport | None = None, replaces: str | None = None) -> Photo:
    return Photo(
        of=SEAT, stage="as_found", picture=f"{name}.jpg", quality=quality(usable), face_report=face,
        replaces=replaces,
    )  # fmt: skip


def record_of(*photos: Photo) -> RebuildRecord:
    builder = RecordBuilder(SHEET)
    for photo in photos:
        builder.see(photo)
    return builder.record()


def wanted(record: RebuildRecord) -> list[str]:
    return [m.text.removeprefix(WANTED) for m in record.missing if m.of == SEAT]


NOT_USABLE = ["the one taken is not usable"]


@pytest.mark.parametrize(
    ("photos", "left"),
    [
        ([], ["not taken"]),
        ([picture("a", True)], []),
        ([picture("a", False)], NOT_USABLE),
        # A face has a judge of its own, who knows what matters in it.
        ([picture("a", True, NO_FACE)], NOT_USABLE),
        ([picture("a", False, FACE)], []),
        ([picture("a", False), picture("b", True)], []),
        ([picture("a", False), picture("b", True, replaces="a.jpg")], []),
        ([picture("a", True), picture("b", False, replaces="a.jpg")], NOT_USABLE),
        # Nobody judged it: whoever reviews it will.
        ([Photo(of=SEAT, stage="as_found", picture="a.jpg")], []),
    ],
)
def test_only_a_usable_picture_is_taken(photos: list[Photo], left: list[str]) -> None:
    assert wanted(record_of(*photos)) == left


def test_a_picture_struck_in_review_was_not_taken() -> None:
    record = record_of(picture("a", False))
    struck = Decision(
        number=1, kind="struck", entry="ph1", fields={}, by="R. Viewer", at="2026-11-26T10:00:00+00:00"
    )
    assert wanted(reviewed(record, SHEET, [])) == NOT_USABLE
    assert wanted(reviewed(record, SHEET, [struck])) == ["not taken"]
