"""A folder of photos: who each belongs to, and what could not be used."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
import pytest

from capture.photo_list import read_photo_list
from capture.photo_names import PhotoNames
from capture.photos import read_photo_folder, thumbnail_name
from capture.pictures import read_picture
from shared.errors import PictureNotFound
from shared.job_sheet import JobSheet, load_job_sheet
from tests.capture.pictures import FIXTURES, draw_part
from tests.capture.test_pictures import exif_block, jpeg_with

SHEET = JobSheet.model_validate(
    {
        "id": "test-pump",
        "title": "A pump",
        "units": {"length": "in"},
        "parts": [
            {"part": "stationary_seat", "say": ["stationary seat", "seat"]},
            {"part": "seat_gasket", "say": ["seat gasket"]},
            {"part": "casing_bolts", "say": ["casing bolts"]},
            {"part": "left_bearing", "say": ["left bearing"]},
        ],
        "photos": [
            {"of": "stationary_seat", "say": ["seat", "seat face"], "stage": "as_found"},
            {"of": "rotating_face", "say": ["rotating face", "carbon"], "stage": "as_found"},
            {"of": "impeller", "say": ["impeller", "wheel"]},
        ],
    }
)


@pytest.mark.parametrize(
    ("stem", "of", "stage"),
    [
        ("stationary_seat_as_found", "stationary_seat", "as_found"),
        ("seat face as left 2", "stationary_seat", "as_left"),
        ("Seat-Face (3)", "stationary_seat", "either"),
        ("SeatFaceAsFound", "stationary_seat", "as_found"),
        ("seatface", "stationary_seat", "either"),
        ("IMG_20260304_carbon before", "rotating_face", "as_found"),
        ("CARBON_AFTER", "rotating_face", "as_left"),
        ("wheels", "impeller", "either"),
        ("casing bolt 1", "casing_bolts", "either"),
        ("seat gasket found", "seat_gasket", "as_found"),
        ("left bearing as left", "left_bearing", "as_left"),
        ("left bearing", "left_bearing", "either"),
        ("impeller left side", "impeller", "either"),
        ("impeller as found as left", "impeller", "either"),
        ("seat_as_found_face", "stationary_seat", "as_found"),
        ("IMG_0031", None, "either"),
        ("as_found", None, "as_found"),
        ("", None, "either"),
        ("seating plan", None, "either"),
        ("Räder 轮子", None, "either"),
    ],
)
def test_a_file_name_tells_part_and_stage(stem: str, of: str | None, stage: str) -> None:
    named = PhotoNames(SHEET).read(stem)
    assert (named.of, named.stage, named.rivals) == (of, stage, ())


def test_a_file_name_that_names_two_parts_names_none() -> None:
    named = PhotoNames(SHEET).read("seat and carbon as found")
    assert (named.of, named.stage) == (None, "as_found")
    assert named.rivals == ("rotating_face", "stationary_seat")


@pytest.mark.parametrize(
    "sheet_id", ["wash-water-end-suction", "wash-water-split-case", "booster-multistage"]
)
def test_every_name_on_the_shipped_sheets_is_its_own(sheet_id: str) -> None:
    sheet = load_job_sheet(sheet_id)
    names = PhotoNames(sheet)
    for photo in sheet.photos:
        for spoken in (photo.of, *photo.spoken):
            assert names.read(f"{spoken} as found").of == photo.of


def write_picture(path: Path, seed: int = 1) -> Path:
    cv2.imwrite(str(path), draw_part(seed, 640, 480))
    return path


def write_list(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "photos.csv"
    path.write_bytes(text.encode(encoding))
    return path


def test_the_list_comes_before_the_file_name(tmp_path: Path) -> None:
    write_picture(tmp_path / "seat.jpg")
    write_list(tmp_path, "file,of,stage,time_s\nseat.jpg,carbon,as left,61.5\n")
    (photo,) = read_photo_folder(tmp_path, SHEET).photos
    assert (photo.of, photo.stage, photo.time_s, photo.assigned_by) == (
        "rotating_face",
        "as_left",
        61.5,
        "list",
    )


def test_the_list_fills_in_what_the_file_name_leaves_open(tmp_path: Path) -> None:
    write_picture(tmp_path / "seat as left.jpg")
    write_list(tmp_path, "file,time_s\nSEAT AS LEFT.JPG,1:01.5\n")
    (photo,) = read_photo_folder(tmp_path, SHEET).photos
    assert (photo.of, photo.stage, photo.time_s) == ("stationary_seat", "as_left", 61.5)
    assert photo.assigned_by == "file_name"


def test_a_photo_that_nobody_names_waits_for_the_narration(tmp_path: Path) -> None:
    write_picture(tmp_path / "img_1.jpg")
    (photo,) = read_photo_folder(tmp_path, SHEET).photos
    assert (photo.of, photo.stage, photo.time_s, photo.assigned_by) == (None, "either", None, "nobody")
    assert photo.quality is not None
    assert photo.quality.usable


@pytest.mark.parametrize(
    ("row", "line", "column", "says"),
    [
        ("seat.jpg,gearbox,,", 2, "of", "'gearbox' is on the sheet neither as a photo nor as a part"),
        ("seat.jpg,seat,before lunch,", 2, "stage", "'before lunch' is no stage"),
        ("seat.jpg,seat,as_found,noon", 2, "time_s", "'noon' is no time"),
        ("seat.jpg,seat,as_found,-3", 2, "time_s", "'-3' is no time"),
        ("seat.jpg,seat,as_found,nan", 2, "time_s", "'nan' is no time"),
        ("seat.jpg,seat,as_found,1:2:3:4", 2, "time_s", "is no time"),
        (",seat,,", 2, "file", "is empty"),
        ("gone.jpg,seat,,", 2, "file", "no picture 'gone.jpg' in the folder"),
        ("seat.jpg,seat,,\n\nSeat.jpg,carbon,,", 4, "file", "stands on line 2 already"),
    ],
)
def test_what_is_wrong_in_the_list_is_named_by_line_and_column(
    tmp_path: Path, row: str, line: int, column: str, says: str
) -> None:
    write_picture(tmp_path / "seat.jpg")
    write_list(tmp_path, f"file,of,stage,time_s\n{row}\n")
    found = read_photo_folder(tmp_path, SHEET)
    (problem,) = found.problems
    assert (problem.file, problem.line, problem.column) == ("photos.csv", line, column)
    assert says in str(problem)
    assert str(problem).startswith(f"photos.csv, line {line}, column {column}: ")
    assert [photo.of for photo in found.photos] == ["stationary_seat"]


@pytest.mark.parametrize(
    ("text", "encoding"),
    [
        ("file;of;time_s\nimg.jpg;carbon;71,5\n", "utf-8"),
        ("file,of,time_s\nimg.jpg,carbon,71.5\n", "utf-8-sig"),
        ("File, Of ,TIME_S\r\nimg.jpg,Rotating Face,71.5\r\n", "utf-8"),
        ('file,of,time_s\n"img.jpg","carbon","71.5"\n', "utf-8"),
        ("of,file,note,time_s\ncarbon,img.jpg,Größe,71.5\n", "cp1252"),
    ],
)
def test_lists_as_spreadsheets_write_them_are_read(tmp_path: Path, text: str, encoding: str) -> None:
    found = read_photo_list(write_list(tmp_path, text, encoding), PhotoNames(SHEET))
    listed = found.photos["img.jpg"]
    assert (listed.of, listed.time_s) == ("rotating_face", 71.5)


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", ""),
        (b"a,b\n1,2\n", "line 1, column file: no column of that name"),
        (b"\0\1\2", "is no list of photos"),
        (b"file,colour\nseat.jpg,red\n", "line 1, column colour: no such column"),
        (b'file,of\n"seat.jpg', ""),
        (b"file,of,of\nseat.jpg,seat,carbon\n", "column of: stands twice"),
    ],
)
def test_a_list_that_is_none_is_reported_and_the_photos_are_read(
    tmp_path: Path, data: bytes, says: str
) -> None:
    write_picture(tmp_path / "seat.jpg")
    (tmp_path / "photos.csv").write_bytes(data)
    found = read_photo_folder(tmp_path, SHEET)
    assert [photo.of for photo in found.photos] == ["stationary_seat"]
    assert any(says in str(problem) for problem in found.problems) or not says


def test_a_bad_photo_is_reported_and_the_others_go_on(tmp_path: Path) -> None:
    write_picture(tmp_path / "seat.jpg")
    (tmp_path / "carbon.jpg").write_bytes(b"")
    (tmp_path / "impeller.jpg").write_bytes((tmp_path / "seat.jpg").read_bytes()[:4000])
    (tmp_path / "notes.txt").write_text("vane one\n")
    (tmp_path / "shaft.jpg").write_bytes(b"%PDF-1.7 \n")
    found = read_photo_folder(tmp_path, SHEET)
    assert [photo.picture for photo in found.photos] == ["seat.jpg"]
    assert [str(problem).split(";")[0] for problem in found.problems] == [
        "carbon.jpg: the file is empty",
        "impeller.jpg: it is cut off or damaged",
        "notes.txt: left out: this is text",
        "shaft.jpg: this is a PDF document, whatever its name says",
    ]


def test_a_picture_with_a_wrong_extension_is_a_photo(tmp_path: Path) -> None:
    write_picture(tmp_path / "seat.png").rename(tmp_path / "seat.txt")
    found = read_photo_folder(tmp_path, SHEET)
    assert ([photo.of for photo in found.photos], found.problems) == (["stationary_seat"], ())


def test_litter_and_subfolders_are_left_out_without_a_word(tmp_path: Path) -> None:
    for name in (".DS_Store", "Thumbs.db", "desktop.ini"):
        (tmp_path / name).write_bytes(b"x")
    (tmp_path / "old").mkdir()
    assert read_photo_folder(tmp_path, SHEET) == type(read_photo_folder(tmp_path, SHEET))((), ())


def test_a_name_with_two_parts_is_asked_about(tmp_path: Path) -> None:
    write_picture(tmp_path / "seat and carbon.jpg")
    found = read_photo_folder(tmp_path, SHEET)
    assert found.photos[0].assigned_by == "nobody"
    assert "may mean rotating_face or stationary_seat" in str(found.problems[0])


@pytest.mark.parametrize(
    ("started", "time_s"),
    [(datetime(2026, 3, 4, 10, 0, 30), 1200.0), (datetime(2026, 3, 4, 11, 0, 0), None), (None, None)],
)
def test_the_cameras_clock_gives_the_moment(
    tmp_path: Path, started: datetime | None, time_s: float | None
) -> None:
    block = exif_block({0x9003: b"2026:03:04 10:20:30\0"})
    (tmp_path / "img.jpg").write_bytes(jpeg_with(block, draw_part(1, 640, 480)))
    (photo,) = read_photo_folder(tmp_path, SHEET, recording_started=started).photos
    assert photo.time_s == time_s


def test_thumbnails_are_written_beside_the_record(tmp_path: Path) -> None:
    folder = tmp_path / "pics"
    folder.mkdir()
    for name in ("seat.jpg", "seat.png"):
        write_picture(folder / name)
    found = read_photo_folder(folder, SHEET, thumbnails=tmp_path / "small")
    assert [photo.thumbnail for photo in found.photos] == [
        thumbnail_name("seat.jpg"),
        thumbnail_name("seat.png"),
    ]
    for photo in found.photos:
        assert max(read_picture(tmp_path / "small" / str(photo.thumbnail)).shape) == 320


def test_photos_come_in_the_order_of_their_numbers(tmp_path: Path) -> None:
    for number in (10, 9, 2):
        write_picture(tmp_path / f"img_{number}.jpg", number)
    assert [p.picture for p in read_photo_folder(tmp_path, SHEET).photos] == [
        "img_2.jpg",
        "img_9.jpg",
        "img_10.jpg",
    ]


def test_a_missing_folder_is_named(tmp_path: Path) -> None:
    with pytest.raises(PictureNotFound, match="no such folder"):
        read_photo_folder(tmp_path / "gone", SHEET)
    (tmp_path / "file").write_bytes(b"x")
    with pytest.raises(PictureNotFound, match="this is no folder"):
        read_photo_folder(tmp_path / "file", SHEET)


def test_the_demo_folder_is_read_as_its_expected_record_says() -> None:
    sheet = load_job_sheet("wash-water-end-suction")
    found = read_photo_folder(FIXTURES / "wash-water-end-suction", sheet)
    assert found.problems == ()
    assert [(p.picture, p.of, p.stage, p.assigned_by, p.time_s) for p in found.photos] == [
        ("casing_as_left.jpg", "casing", "as_left", "file_name", None),
        ("img_0031.jpg", "shaft_sleeve", "as_found", "list", 115.9),
        ("img_0032.jpg", "shaft_sleeve", "as_found", "list", None),
        ("img_0033.jpg", None, "either", "nobody", 71.0),
        ("impeller_as_found.jpg", "impeller", "as_found", "file_name", None),
        ("stationary_seat_as_found.jpg", "stationary_seat", "as_found", "file_name", None),
        ("stationary_seat_as_left.jpg", "stationary_seat", "as_left", "file_name", None),
    ]


@pytest.mark.parametrize("seed", range(3))
def test_lists_of_garbage_never_fail(tmp_path: Path, seed: int) -> None:
    random = np.random.default_rng(seed)
    for _ in range(40):
        cells = [
            random.choice(["file", "of", '"', ",", "\n", ";", "seat", "1:", "\r", "é", "9e999"])
            for _ in range(30)
        ]
        path = write_list(tmp_path, "file,of,stage,time_s\n" + "".join(cells))
        assert all(str(problem) for problem in read_photo_list(path, PhotoNames(SHEET)).problems)
