"""``witnessmark inspect``: pictures in, words, JSON and drawings out; one line where it cannot be done."""

from __future__ import annotations

import json
from pathlib import Path

import cv2
import numpy as np
import pytest

from api.cli import run
from api.failure import DONE, FOUND, NOT_DONE
from shared.photo import FaceReport
from tests.api.processing import one_line
from tests.capture.band_pictures import Surface, Taken, out_of_flat, taken
from tests.capture.drawn_faces import View, coded, light_of, textured


@pytest.fixture(scope="module")
def seat(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("faces") / "seat.jpg"
    cv2.imwrite(str(path), coded(textured(light_of(View()))))
    return path


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A picture of a bench without anything on it."""
    path = tmp_path_factory.mktemp("bench") / "seat.jpg"
    cv2.imwrite(str(path), np.full((480, 640, 3), 120, np.uint8))
    return path


def test_a_face_is_told_in_plain_words(seat: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["inspect", str(seat), "--outer-diameter-mm", "44"]) == DONE
    out = capsys.readouterr().out
    assert f"{seat}: ✓ a seal face, usable" in out.replace("\n", " ")
    assert "outside 44.00 mm, inside 3" in out
    assert "of the face judged" in out.replace("\n          ", " ")
    assert "A picture never decides whether a face goes back" in out


def test_what_is_no_face_is_told_with_what_to_do(bench: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["inspect", str(bench)]) == DONE
    out = capsys.readouterr().out
    assert "✗ not usable: no ring" in out
    assert "  advice  " in out
    assert run(["inspect", str(bench), "--strict"]) == FOUND


def test_json_of_one_picture_is_its_report(seat: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["inspect", str(seat), "--json"]) == DONE
    report = FaceReport.model_validate_json(capsys.readouterr().out)
    assert report.usable
    assert report.scale_from == "none"


def test_json_of_several_is_a_list_and_what_failed_is_in_it(
    seat: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cut = tmp_path / "cut.jpg"
    cut.write_bytes(seat.read_bytes()[:900])
    assert run(["inspect", str(cut), str(seat), "--json"]) == NOT_DONE
    told = capsys.readouterr()
    failed, done = json.loads(told.out)
    assert failed["picture"] == str(cut)
    assert "cut off" in failed["failure"]
    assert FaceReport.model_validate(done["report"]).usable
    assert "1 of 2 pictures could not be read" in one_line(told.err)


def test_files_of_each_picture_lie_in_a_folder_of_their_own(
    seat: Path, bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    assert run(["inspect", str(seat), str(bench), "--out", str(out)]) == DONE
    assert sorted(path.name for path in out.iterdir() if path.is_dir()) == ["seat", "seat-2"]
    assert FaceReport.model_validate_json((out / "seat" / "report.json").read_text("utf-8")).usable
    for name, width in (("annotated.jpg", 1900), ("strip.jpg", 2010)):
        drawn = cv2.imread(str(out / "seat" / name))
        assert drawn is not None
        assert drawn.shape[1] == width
    assert sorted(path.name for path in (out / "seat-2").iterdir()) == ["annotated.jpg", "report.json"]
    # The same pictures once more, in the other order, go where they were.
    before = (out / "seat" / "report.json").read_bytes()
    assert run(["inspect", str(bench), str(seat), "--out", str(out)]) == DONE
    assert sorted(path.name for path in out.iterdir() if path.is_dir()) == ["seat", "seat-2"]
    assert (out / "seat" / "report.json").read_bytes() == before


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("notes.txt", "mine"),
        ("inspection.json", "{}"),
        ("inspection.json", '{"format": "x", "pictures": []}'),
    ],
)
def test_a_folder_with_other_files_is_left_alone(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], name: str, content: str
) -> None:
    (tmp_path / name).write_text(content)
    assert run(["inspect", str(bench), "--out", str(tmp_path)]) == NOT_DONE
    assert one_line(capsys.readouterr().err).endswith("[output-foreign]")
    assert [(p.name, p.read_text()) for p in tmp_path.iterdir() if p.name != ".lock"] == [(name, content)]


def test_a_folder_that_leads_elsewhere_is_refused(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [{"picture": "seat.jpg", "sha256": "0", "folder": "../elsewhere"}]
    index = {"format": "witnessmark-inspection/1", "pictures": rows}
    (tmp_path / "inspection.json").write_text(json.dumps(index))
    assert run(["inspect", str(bench), "--out", str(tmp_path)]) == NOT_DONE
    assert one_line(capsys.readouterr().err).endswith("[output-foreign]")


def test_a_folder_of_pictures_is_taken_in_order_of_names(
    bench: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("img_10.jpg", "img_2.jpg", ".hidden.jpg", "unnamed"):
        (tmp_path / name).write_bytes(bench.read_bytes())
    (tmp_path / "notes.txt").write_text("no picture")
    (tmp_path / "below").mkdir()
    assert run(["inspect", str(tmp_path), "--json"]) == DONE
    names = [Path(row["picture"]).name for row in json.loads(capsys.readouterr().out)]
    assert names == ["img_2.jpg", "img_10.jpg", "unnamed"]


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nowhere.jpg"], "no such picture"),
        (["empty"], "there is no picture in the folder"),
        (["text.jpg"], "this is text, whatever its name says"),
        (["phone.heic"], "HEIC picture, which cannot be decoded here"),
        (["seat.jpg", "--outer-diameter-mm", "0"], "no face has an outside diameter of 0.0 mm"),
        (["seat.jpg", "--outer-diameter-mm", "-3"], "no face has an outside diameter of -3.0 mm"),
        (["seat.jpg", "--outer-diameter-mm", "nan"], "no face has an outside diameter of nan mm"),
        (["seat.jpg", "--outer-diameter-mm", "wide"], "'wide' is not a valid float"),
        ([], "Missing argument 'PICTURE...'"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("as_json", [False, True])
def test_what_cannot_be_done_is_one_line(
    seat: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    arguments: list[str],
    said: str,
    as_json: bool,
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "empty").mkdir()
    (tmp_path / "text.jpg").write_text("front clearance vane one eighteen")
    (tmp_path / "phone.heic").write_bytes(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(64))
    (tmp_path / "seat.jpg").write_bytes(seat.read_bytes())
    assert run(["inspect", *arguments, *(["--json"] if as_json else [])]) == NOT_DONE
    told = capsys.readouterr()
    assert said in one_line(told.err)
    assert told.out == ""


def test_a_pair_tells_what_stayed(seat: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    later = tmp_path / "later.jpg"
    grain = np.random.default_rng(9).normal(0, 2, (960, 1280, 3))
    taken = cv2.imread(str(seat)) + grain
    cv2.imwrite(str(later), np.clip(taken, 0, 255).astype(np.uint8))
    assert run(["inspect", "--pair", str(seat), str(later)]) == DONE
    out = capsys.readouterr().out
    assert "seat.jpg against later.jpg" in out
    assert "the same face, the second turned by" in out
    assert run(["inspect", "--pair", str(seat), str(later), "--json"]) == DONE
    compared = json.loads(capsys.readouterr().out)
    assert compared["pair"]["same"]
    assert min(compared["pair"]["turn_deg"], 360 - compared["pair"]["turn_deg"]) < 2
    assert len(compared["pictures"]) == 2


def test_pictures_of_two_things_are_no_pair(
    seat: Path, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["inspect", "--pair", str(seat), str(bench)]) == DONE
    assert "not compared: the second picture cannot be used" in capsys.readouterr().out
    assert run(["inspect", "--pair", str(seat)]) == NOT_DONE
    assert "expected two: as found, then as left" in one_line(capsys.readouterr().err)


@pytest.mark.long
def test_light_bands_are_counted_under_an_optical_flat(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    surface = Surface(dish=1.0, saddle=0.8)
    picture, _ = taken(surface, surface.bore, Taken(perspective=True))
    path = tmp_path / "bands.png"
    cv2.imwrite(str(path), picture)
    assert run(["inspect", "--light-bands", str(path), "--json"]) == DONE
    (row,) = json.loads(capsys.readouterr().out)
    # A band is half a wave of the helium line (checks U8): 587.56 nm / 2.
    assert row["light_bands"]["um"] == pytest.approx(0.29378 * row["light_bands"]["bands"], abs=1e-3)
    assert row["light_bands"]["bands"] == pytest.approx(out_of_flat(surface, surface.bore), rel=0.15)
    assert run(["inspect", "--light-bands", str(path)]) == DONE
    assert "light bands out of flat" in capsys.readouterr().out.replace("\n        ", " ")


@pytest.mark.long
def test_light_bands_of_a_picture_without_any_are_not_counted(
    seat: Path, bench: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["inspect", "--light-bands", str(seat), str(bench)]) == DONE
    out = capsys.readouterr().out
    assert out.count("  flat  not counted: ") == 2
    assert "  flat  not counted: no face was found" in out


def test_markers_are_printed_and_no_file_is_overwritten(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "markers.pdf"
    assert run(["inspect", "--print-marker", str(sheet)]) == DONE
    assert sheet.read_bytes().startswith(b"%PDF")
    capsys.readouterr()
    sheet.write_text("mine")
    assert run(["inspect", "--print-marker", str(sheet)]) == NOT_DONE
    assert one_line(capsys.readouterr().err).endswith("[output-foreign]")
    assert sheet.read_text() == "mine"
