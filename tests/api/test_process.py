"""Recording in, record out, through the command line; the scripted engine where speech is not the point."""

from __future__ import annotations

import json
from pathlib import Path

import pikepdf
import pytest

from api.cli import run
from api.failure import DONE, FOUND
from api.narration import parse_narration
from capture.sound import RATE_HZ
from tests.api.processing import PHOTOS, RECORDING, SHEET, VIDEO, Process, record_in, write_wav
from tests.recorded_sound import recorded_sound


def test_a_recording_becomes_record_reports_and_captions(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert process(talk, "--work-order", "7001", "--technician", "T. Echnician") == DONE
    out = tmp_path / "out"
    record = record_in(out)
    # What was given goes before what was said.
    assert (record.job.work_order, record.job.technician) == ("7001", "T. Echnician")
    assert (record.job.started, record.job.ended) == (None, None)
    readings = {(r.item, r.position): r for r in record.readings}
    assert readings["front_clearance", "1"].value_exact == "0.018"
    assert readings["front_clearance", "2"].verdict == "outside"
    # Two seconds of tolerance: the fixture's third utterance begins at 8.3 s.
    assert readings["front_clearance", "1"].evidence.start_s == pytest.approx(8.3, abs=2.0)
    assert {r.evidence.recording for r in record.readings} == {"talk.wav"}
    assert (record.made_by.engine, record.made_by.model) == ("scripted", "script.json")
    assert set(record.made_by.hashes) >= {"sheet", "lexicon", "recording", "engine"}
    shown = capsys.readouterr()
    assert "0.018 in" in shown.out
    assert str(out / "report.html") in shown.out
    assert "listening with scripted" in shown.err
    with pikepdf.open(out / "report.pdf") as document:
        assert (
            document.attachments["record.json"].get_file().read_bytes() == (out / "record.json").read_bytes()
        )


def test_json_prints_exactly_the_record(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert process(talk, "--json") == DONE
    assert capsys.readouterr().out == (tmp_path / "out" / "record.json").read_text("utf-8")


def test_strict_makes_what_was_found_the_exit_status(talk: Path, process: Process) -> None:
    assert process(talk, "--strict") == FOUND
    assert process(talk) == DONE


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        (
            ["Seal setting 1 1/16. Pause recording. My wife called."],
            ["Seal setting 1 1/16. Pause recording"],
        ),
        (
            ["pause recording", "so she said resume recording lock screws twenty three"],
            ["pause recording", "resume recording lock screws twenty three"],
        ),
    ],
)
def test_a_pause_inside_an_utterance_parts_it(
    said: list[str], kept: list[str], talk: Path, process: Process, tmp_path: Path
) -> None:
    path = tmp_path / "said.json"
    path.write_text(json.dumps(said))
    assert process(talk, "--engine", "scripted", "--model", str(path)) == DONE
    captions = parse_narration((tmp_path / "out" / "transcript.vtt").read_text("utf-8"), "t.vtt")
    assert [utterance.text for utterance in captions] == kept


def test_photos_are_copied_judged_and_assigned(talk: Path, process: Process, tmp_path: Path) -> None:
    assert process(talk, "--photos", str(PHOTOS)) == DONE
    photos = {photo.picture: photo for photo in record_in(tmp_path / "out").photos}
    for name, photo in photos.items():
        assert (tmp_path / "out" / name).read_bytes() == (PHOTOS / Path(name).name).read_bytes()
        assert photo.thumbnail is not None
        assert (tmp_path / "out" / photo.thumbnail).stat().st_size > 1000
    seat = photos["pictures/stationary_seat_as_found.jpg"]
    assert (seat.of, seat.stage) == ("stationary_seat", "as_found")
    blurred = photos["pictures/casing_as_left.jpg"]
    assert blurred.quality is not None
    assert blurred.quality.reasons == ["out_of_focus"]
    drawn = len(list((tmp_path / "out" / "faces").iterdir()))
    page = (tmp_path / "out" / "report.html").read_text("utf-8")
    assert page.count("data:image/jpeg;base64") == len(photos) + drawn


def test_a_picture_asked_for_in_a_video_is_its_sharpest_frame(process: Process, tmp_path: Path) -> None:
    times = json.loads(VIDEO.with_suffix(".times.json").read_text())
    asked = next(n for n, u in enumerate(times["utterances"]) if "picture of the seat face" in u["text"])
    script = tmp_path / "video.json"
    script.write_text(json.dumps([u["text"] for u in times["utterances"]]))
    assert process(VIDEO, "--engine", "scripted", "--model", str(script)) == DONE
    photos = record_in(tmp_path / "out").photos
    seat = next(photo for photo in photos if photo.of == "stationary_seat")
    assert seat.picture == f"pictures/stationary_seat_{asked + 1:03d}.jpg"
    assert seat.quality is not None
    assert seat.quality.usable
    end_s = times["utterances"][asked]["end_s"]
    assert end_s - 1 <= seat.evidence.start_s <= end_s + 4


@pytest.mark.long
def test_one_piece_of_real_speech_goes_all_the_way(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Pocketsphinx on 12 seconds of the fixture from 182 s on: a torque and a shim pack."""
    sound = recorded_sound(RECORDING)[182 * RATE_HZ : 194 * RATE_HZ]
    recording = write_wav(tmp_path / "piece.wav", sound)
    arguments = [
        "process",
        str(recording),
        "--sheet",
        SHEET,
        "--out",
        str(tmp_path / "out"),
        "--engine",
        "pocketsphinx",
    ]
    assert run(arguments) == DONE
    readings = {r.item: r for r in record_in(tmp_path / "out").readings}
    assert readings["impeller_bolt_torque"].value_exact == "70"
    assert readings["shim_pack"].value_exact == "0.042"
    assert "pocketsphinx" in capsys.readouterr().err
