"""What users hand in by mistake, through the command line: named, and never half done."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pytest

from api.cli import run
from api.failure import DONE, NOT_DONE
from capture.sound import RATE_HZ
from tests.api.processing import PHOTOS, RECORDING, SHEET, Process, one_line, record_in, write_wav


def test_a_truncated_recording_gives_what_was_saved_and_says_so(
    process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    cut = tmp_path / "cut.ogg"
    cut.write_bytes(RECORDING.read_bytes()[:100_000])
    assert process(cut) == DONE
    record = record_in(tmp_path / "out")
    (note,) = record.notes
    assert note.evidence.rule == "recording"
    assert "cut off" in note.text
    assert f"{note.evidence.start_s:.1f} s" in note.text
    assert any(r.item == "front_clearance" for r in record.readings)
    assert "cut off" in capsys.readouterr().out
    assert "cut off" in (tmp_path / "out" / "report.html").read_text("utf-8")


@pytest.mark.long
def test_ten_minutes_of_silence_is_a_record_in_which_nothing_was_said(
    process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    silence = write_wav(tmp_path / "silence.wav", np.zeros(600 * RATE_HZ, np.int16))
    assert process(silence) == DONE
    record = record_in(tmp_path / "out")
    assert (record.readings, record.parts, record.questions) == ([], [], [])
    assert record.missing
    assert "No speech was found in the recording." in capsys.readouterr().out
    assert (tmp_path / "out" / "transcript.vtt").read_text() == "WEBVTT\n"


def test_music_makes_no_entry(tmp_path: Path) -> None:
    """Twenty seconds of chords with a beat, heard by the real engine."""
    t = np.arange(20 * RATE_HZ) / RATE_HZ
    chords = [(220.0, 277.2, 329.6), (196.0, 246.9, 293.7), (174.6, 220.0, 261.6), (164.8, 207.7, 246.9)]
    sound = np.zeros_like(t)
    for n in range(40):
        span = slice(n * RATE_HZ // 2, (n + 1) * RATE_HZ // 2)
        fade = np.exp(-3 * (t[span] - t[span][0]))
        for pitch in chords[n // 4 % 4]:
            sound[span] += fade * sum(np.sin(2 * np.pi * pitch * k * t[span]) / k for k in (1, 2, 3))
    music = write_wav(tmp_path / "music.wav", sound / np.abs(sound).max() * 20000)
    assert (
        run(
            [
                "process",
                str(music),
                "--sheet",
                SHEET,
                "--out",
                str(tmp_path / "out"),
                "--engine",
                "pocketsphinx",
            ]
        )
        == DONE
    )
    record = record_in(tmp_path / "out")
    assert (record.readings, record.parts, record.conditions, record.steps) == ([], [], [], [])


def test_a_recording_of_nothing_but_chatter_says_so(process: Process, talk: Path, tmp_path: Path) -> None:
    said = tmp_path / "said.json"
    said.write_text(json.dumps(["did you see the game last night", "that was a good one"]))
    assert process(talk, "--engine", "scripted", "--model", str(said)) == DONE
    notes = record_in(tmp_path / "out").notes
    assert any("nothing in the recording is about the job" in note.text for note in notes)


def write_video_without_sound(path: Path) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("mpeg4", rate=5)
        stream.width, stream.height = 64, 48
        frame = av.VideoFrame.from_ndarray(np.zeros((48, 64, 3), np.uint8), format="bgr24")
        for packet in [*stream.encode(frame), *stream.encode(None)]:
            container.mux(packet)


@pytest.mark.parametrize(
    ("make", "code"),
    [
        (lambda path: path.write_bytes(b""), "sound-empty"),
        (lambda path: path.write_bytes(b"RIFF\x24\x00\x00\x00WAVEfmt "), "sound-unreadable"),
        (lambda path: path.write_text("this is a letter\n" * 50), "sound-unreadable"),
        (lambda path: shutil.copy(PHOTOS / "img_0031.jpg", path), "sound-unreadable"),
        (lambda path: None, "sound-not-found"),
    ],
    ids=["empty", "header only", "text", "picture", "absent"],
)
def test_what_is_no_recording_is_refused_before_anything_is_made(
    make: Callable[[Path], object],
    code: str,
    process: Process,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / "recording.wav"
    make(path)
    assert process(path) == NOT_DONE
    line = one_line(capsys.readouterr().err)
    assert f"[{code}]" in line
    assert "recording.wav" in line
    assert not (tmp_path / "out").exists()


def test_a_folder_of_recordings_takes_no_single_output_folder(
    process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "recordings"
    path.mkdir()
    assert process(path) == NOT_DONE
    assert "--out is for one FILE, not for folders" in one_line(capsys.readouterr().err)


def test_a_video_without_sound_is_refused(
    process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "mute.mp4"
    write_video_without_sound(path)
    assert process(path) == NOT_DONE
    assert "no sound track" in one_line(capsys.readouterr().err)


def test_photos_that_cannot_be_used_are_named_and_the_others_go_on(
    talk: Path, process: Process, tmp_path: Path
) -> None:
    photos = tmp_path / "photos"
    photos.mkdir()
    (photos / "seal_as_found.jpg").touch()
    shutil.copy(PHOTOS / "impeller_as_found.jpg", photos / "impeller_as_found.png")
    (photos / "casing_as_left.jpg").write_text("not a picture at all, but long enough to be looked at")
    assert process(talk, "--photos", str(photos)) == DONE
    record = record_in(tmp_path / "out")
    assert [(photo.of, photo.picture) for photo in record.photos] == [
        ("impeller", "pictures/impeller_as_found.png")
    ]
    said = {note.text.split(":")[0]: note.text for note in record.notes}
    assert set(said) == {"seal_as_found.jpg", "casing_as_left.jpg"}
    assert "empty" in said["seal_as_found.jpg"]
    assert {note.evidence.rule for note in record.notes} == {"picture"}


def test_a_folder_of_photos_that_is_none_is_refused(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert process(talk, "--photos", str(tmp_path / "nowhere")) == NOT_DONE
    shown = capsys.readouterr().err
    assert "[picture-not-found]" in one_line(shown)
    assert "listening" not in shown
    assert not (tmp_path / "out").exists()


def test_unknown_sheet_and_engine_are_refused(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert process(talk, sheet="unheard-of") == NOT_DONE
    assert "[sheet-not-found]" in one_line(capsys.readouterr().err)
    assert process(talk, "--engine", "crystal-ball") == NOT_DONE
    line = one_line(capsys.readouterr().err)
    assert "[engine-unknown]" in line
    assert "pocketsphinx" in line
    assert not (tmp_path / "out").exists()


def test_a_sheet_with_an_impossible_limit_is_refused_with_its_line(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "impossible.yaml"
    sheet.write_text(
        "id: a\ntitle: A pump\nunits: {length: in}\n"
        "readings:\n  - {item: gap, unit: in, lower: 2, upper: 1}\n"
    )
    assert process(talk, sheet=str(sheet)) == NOT_DONE
    line = one_line(capsys.readouterr().err)
    assert "impossible.yaml:5" in line
    assert "lower 2 is above upper 1" in line


def test_a_place_that_cannot_be_written_is_said_to_be(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").touch()
    assert process(talk, out=tmp_path / "file" / "out") == NOT_DONE
    assert "[output-unwritable]" in one_line(capsys.readouterr().err)


def test_an_empty_option_does_not_stand_in_the_way_of_what_is_said(
    talk: Path, process: Process, tmp_path: Path
) -> None:
    """As a script's unset variable gives it."""
    assert process(talk, "--work-order", " ") == DONE
    assert record_in(tmp_path / "out").job.work_order == "5027"
