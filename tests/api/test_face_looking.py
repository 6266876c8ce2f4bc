"""Seal faces in the pictures of a job: inspected, drawn, in the record and on the page."""

from __future__ import annotations

import json
from html import unescape
from pathlib import Path

import cv2
import numpy as np
import pytest

from api.face_looking import outer_diameter_mm, shows_face
from api.failure import DONE
from api.report.face_rows import face_highlights, face_views
from api.report.page import report_html
from api.report.prepare import prepare_view
from shared.job_sheet import JobSheet, load_job_sheet
from shared.photo import FaceDefect, FaceReport, WearTrack
from shared.record import PhotoEntry, RebuildRecord
from tests.api.conftest import heard
from tests.api.processing import Process, record_in
from tests.capture.drawn_faces import View, coded, light_of, textured

TALK = ["work order is five oh two seven", "carbon's chipped", "the spring is good"]


@pytest.fixture
def photos(tmp_path: Path) -> Path:
    folder = tmp_path / "photos"
    folder.mkdir()
    face = coded(textured(light_of(View())))
    cv2.imwrite(str(folder / "rotating_face_as_found.jpg"), face)
    cv2.imwrite(str(folder / "stationary_seat_as_found.jpg"), np.full((480, 640, 3), 120, np.uint8))
    cv2.imwrite(str(folder / "impeller_as_found.jpg"), face)
    return folder


def test_photos_of_seal_faces_are_inspected_and_the_others_are_not(
    talk: Path, process: Process, photos: Path, tmp_path: Path
) -> None:
    script = tmp_path / "talk.json"
    script.write_text(json.dumps(TALK))
    engine = ["--engine", "scripted", "--model", str(script)]
    assert process(talk, "--photos", str(photos), *engine) == DONE
    out = tmp_path / "out"
    record = record_in(out)
    reports = {photo.of: photo.face_report for photo in record.photos}
    carbon, seat = reports["rotating_face"], reports["stationary_seat"]
    assert reports["impeller"] is None
    assert carbon is not None
    assert seat is not None
    # The sheet gives the carbon 44.5 mm.
    assert (carbon.usable, carbon.scale_from, carbon.outer_diameter_mm) == (True, "sheet", 44.5)
    assert not seat.usable
    drawn = {path.name for path in (out / "faces").iterdir()}
    assert drawn == {
        "rotating_face_as_found.jpg.annotated.jpg", "rotating_face_as_found.jpg.strip.jpg",
        "stationary_seat_as_found.jpg.annotated.jpg",
    }  # fmt: skip
    page = unescape((out / "report.html").read_text("utf-8"))
    assert "Seal faces in pictures" in page
    assert "outside 44.50 mm" in page
    # Said to be chipped, and the picture shows a whole face.
    (question,) = [q for q in record.questions if "rotating_face_as_found.jpg" in q.text]
    assert "said “carbon's chipped” at" in question.text
    assert question.text in page


@pytest.mark.parametrize(("said", "compared"), [("carbon's good", True), ("put in a new seal", False)])
def test_a_face_that_goes_back_is_compared_as_found_and_as_left(
    talk: Path, process: Process, photos: Path, tmp_path: Path, said: str, compared: bool
) -> None:
    face = cv2.imread(str(photos / "rotating_face_as_found.jpg"))
    cv2.imwrite(str(photos / "rotating_face_as_left.jpg"), np.clip(face.astype(int) + 4, 0, 255))
    script = tmp_path / "talk.json"
    script.write_text(json.dumps([TALK[0], said]))
    assert process(talk, "--photos", str(photos), "--engine", "scripted", "--model", str(script)) == DONE
    notes = [n for n in record_in(tmp_path / "out").notes if n.evidence.rule == "as found against as left"]
    assert len(notes) == compared
    for note in notes:
        assert "pictures/rotating_face_as_found.jpg against pictures/rotating_face_as_left.jpg" in note.text
        assert "the same face" in note.text


@pytest.mark.parametrize(
    ("of", "diameter", "face"),
    [
        ("rotating_face", 44.5, True), ("stationary_seat", 47.6, True), ("impeller", None, False),
        ("shaft_sleeve", None, False), ("seal", None, False), ("nothing_known", None, False),
    ],
)  # fmt: skip
def test_what_shows_a_face_is_told_by_the_sheet(
    sheet: JobSheet, of: str, diameter: float | None, face: bool
) -> None:
    assert outer_diameter_mm(sheet, of) == diameter
    assert shows_face(sheet, of) is face


def test_a_face_without_a_diameter_is_known_by_its_name() -> None:
    sheet = load_job_sheet("booster-multistage")
    photos = [p.model_copy(update={"outer_diameter_mm": None}) for p in sheet.photos]
    sheet = sheet.model_copy(update={"photos": photos})
    assert outer_diameter_mm(sheet, "rotating_face") is None
    assert shows_face(sheet, "rotating_face")


REPORT = FaceReport(
    usable=True,
    outer={"centre_px": (640, 480), "major_px": 600, "minor_px": 580, "angle_deg": 10},
    inner={"centre_px": (640, 480), "major_px": 450, "minor_px": 435, "angle_deg": 10},
    px_per_mm=13.48, scale_from="sheet", outer_diameter_mm=44.5, inner_diameter_mm=33.4,
    track=WearTrack(
        present=True, evenness="uneven", inner_radius_mm=18.2, outer_radius_mm=20.2, width_mean_mm=2.0,
        width_min_mm=1.1, width_max_mm=2.9, offset_mm=0.41, offset_direction_deg=36.0, judged_share=0.93,
    ),
    defects=[
        FaceDefect(
            kind="chip", angle_deg=30, arc_deg=6, r_in_mm=21.4, r_out_mm=22.25, size_mm=2.2, score=0.9
        ),
        FaceDefect(kind="deposit", angle_deg=215, arc_deg=12, score=0.7),
    ],
)  # type: ignore[arg-type] # fmt: skip


def with_face(record: RebuildRecord, report: FaceReport) -> RebuildRecord:
    photo = PhotoEntry(
        id="f3", evidence=heard(10, "picture of the carbon"), of="rotating_face", stage="as_found",
        picture="pictures/carbon.jpg", face_report=report,
    )  # fmt: skip
    return record.model_copy(update={"photos": [*record.photos, photo]})


def test_the_report_tells_numbers_marks_causes_and_cautions(record: RebuildRecord, sheet: JobSheet) -> None:
    view = prepare_view(with_face(record, REPORT), sheet)
    (face,) = view.faces
    facts = {fact.label: fact.value for fact in face.facts}
    assert facts["Size"].startswith("outside 44.50 mm, inside 33.40 mm")
    assert "uneven; width 2.00 mm (1.10 to 2.90)" in facts["Wear track"]
    assert "offset 0.41 mm towards 36°" in facts["Wear track"]
    assert [(m.kind, m.nature, m.angle, m.size) for m in face.marks] == [
        ("chip", "damage", "30°", "2.20"), ("deposit", "may clean off", "215°", "–")
    ]  # fmt: skip
    assert "Uneven wear" in [cause.label for cause in face.causes]
    assert face.advice == ["Deposits may hide damage: clean the face and take the picture again."]
    page = report_html(view, {})
    assert "A picture never decides whether a face goes back" in page
    assert "faces/carbon.jpg.annotated.jpg" in page


def test_a_face_that_cannot_be_judged_stands_out(record: RebuildRecord) -> None:
    report = FaceReport(usable=False, reasons=["glare", "too_tilted"], advice="Move the lamp.")
    shown = with_face(record, report)
    (line,) = face_highlights(shown)
    assert line.text == "seal face not judged: Rotating face (glare, too tilted)"
    (face,) = face_views(shown)
    assert (face.symbol, face.strip, face.advice) == ("✗", "", ["Move the lamp."])


def test_a_record_without_faces_has_no_section_of_them(record: RebuildRecord, sheet: JobSheet) -> None:
    assert "Seal faces in pictures" not in report_html(prepare_view(record, sheet), {})


def test_of_many_marks_the_surest_are_listed_and_the_others_counted(record: RebuildRecord) -> None:
    marks = [
        FaceDefect(kind="scratch" if n % 2 else "crack", angle_deg=n, arc_deg=1, score=n / 60)
        for n in range(40)
    ]
    (face,) = face_views(with_face(record, REPORT.model_copy(update={"defects": marks})))
    assert [row.number for row in face.marks] == [str(n) for n in range(25, 41)]
    assert {fact.label: fact.value for fact in face.facts}["Marks not listed, less sure"] == (
        "12 crack, 12 scratch"
    )
