"""Recording in, record out, through the command line; the scripted engine where speech is not the point."""

from __future__ import annotations

import errno
import json
import os
import shutil
import signal
import subprocess
import sys
import wave
from collections.abc import Callable
from pathlib import Path

import av
import numpy as np
import pikepdf
import pytest

import capture.journal
from api.cli import run
from api.failure import DONE, FOUND, NOT_DONE
from api.narration import parse_narration
from api.work_folder import LOCK_FILE
from capture.sound import RATE_HZ, read_sound
from shared.record import RebuildRecord

FIXTURES = Path(__file__).parents[2] / "fixtures"
SHEET = "wash-water-end-suction"
RECORDING = FIXTURES / "recordings" / f"{SHEET}.ogg"
PHOTOS = FIXTURES / "pictures" / SHEET
VIDEO = FIXTURES / "recordings" / f"{SHEET}-video.mp4"
FILES = ("record.json", "report.html", "report.pdf", "transcript.vtt")
SCRIPT = [
    "work order is five oh two seven",
    "seal setting one and a sixteenth",
    "front clearance vane one eighteen thou",
    "vane two twenty five thou",
    "pause recording",
    "the guard is worth ninety foot pounds of trouble",
    "resume recording",
]


def write_wav(path: Path, sound: np.ndarray) -> Path:
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        file.writeframes(sound.astype("<i2").tobytes())
    return path


@pytest.fixture(scope="session")
def talk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first 35 seconds of a fixture: seven utterances."""
    sound = np.concatenate(list(read_sound(RECORDING)))[: 35 * RATE_HZ]
    return write_wav(tmp_path_factory.mktemp("talk") / "talk.wav", sound)


@pytest.fixture(scope="session")
def script(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("script") / "script.json"
    path.write_text(json.dumps(SCRIPT))
    return path


Process = Callable[..., int]


@pytest.fixture
def process(tmp_path: Path, script: Path) -> Process:
    """Run ``witnessmark process`` with the scripted engine into ``tmp_path/out``."""

    def run_it(recording: Path | str, *more: str, sheet: str = SHEET, out: Path | None = None) -> int:
        folder = str(out or tmp_path / "out")
        engine = [] if "--engine" in more else ["--engine", "scripted", "--model", str(script)]
        return run(["process", str(recording), "--sheet", sheet, "--out", folder, *engine, *more])

    return run_it


def record_in(folder: Path) -> RebuildRecord:
    return RebuildRecord.model_validate_json((folder / "record.json").read_text("utf-8"))


def results(folder: Path) -> dict[str, bytes]:
    return {name: (folder / name).read_bytes() for name in FILES}


def one_line(err: str) -> str:
    """The line that says why it could not be done; progress may stand before it."""
    lines = [line for line in err.splitlines() if line.startswith("witnessmark: ")]
    assert len(lines) == 1
    assert err.endswith(lines[0] + "\n")
    return lines[0]


# -- what it makes ------------------------------------------------------------------------------------


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


def test_words_of_a_pause_are_in_no_file_but_the_journal(
    talk: Path, process: Process, tmp_path: Path
) -> None:
    assert process(talk) == DONE
    for name in ("record.json", "report.html", "transcript.vtt"):
        text = (tmp_path / "out" / name).read_text("utf-8")
        assert "of trouble" not in text
        assert "eighteen thou" in text or name == "record.json"
    assert b"of trouble" in (tmp_path / "out" / "heard.journal").read_bytes()


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
    assert (tmp_path / "out" / "report.html").read_text("utf-8").count("data:image/jpeg;base64") == len(
        photos
    )


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


def test_one_piece_of_real_speech_goes_all_the_way(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Pocketsphinx on 12 seconds of the fixture from 182 s on: a torque and a shim pack."""
    sound = np.concatenate(list(read_sound(RECORDING)))[182 * RATE_HZ : 194 * RATE_HZ]
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


# -- taken up again -----------------------------------------------------------------------------------


def test_the_same_command_again_takes_the_work_up_and_gives_the_same_bytes(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert process(talk, "--photos", str(PHOTOS)) == DONE
    before = results(tmp_path / "out")
    capsys.readouterr()
    assert process(talk, "--photos", str(PHOTOS)) == DONE
    assert results(tmp_path / "out") == before
    assert "taking up the work" in capsys.readouterr().err


def test_killed_in_the_middle_and_started_again_gives_the_same_bytes(
    process: Process, script: Path, tmp_path: Path
) -> None:
    """``kill -9`` while it listens, as soon as three utterances are on disk."""
    recording = write_wav(tmp_path / "long.wav", np.concatenate(list(read_sound(RECORDING)))[: 120 * RATE_HZ])
    assert process(recording, out=tmp_path / "whole") == DONE
    out = tmp_path / "killed"
    command = [
        "process",
        str(recording),
        "--sheet",
        SHEET,
        "--out",
        str(out),
        "--engine",
        "scripted",
        "--model",
        str(script),
    ]
    process_ = subprocess.Popen(
        [sys.executable, "-m", "api", *command], stderr=subprocess.DEVNULL, stdout=subprocess.DEVNULL
    )
    heard = out / "heard.journal"
    while process_.poll() is None and not (
        heard.exists() and sum(1 for _ in capture.journal.read_journal(heard)) >= 3
    ):
        os.sched_yield()
    process_.send_signal(signal.SIGKILL)
    assert process_.wait() == -signal.SIGKILL
    assert not (out / "record.json").exists()
    heard_before = sum(1 for _ in capture.journal.read_journal(heard))
    assert process(recording, out=out) == DONE
    assert results(out) == results(tmp_path / "whole")
    assert sum(1 for _ in capture.journal.read_journal(heard)) > heard_before


@pytest.mark.parametrize("share", [0.2, 0.6, 0.97])
@pytest.mark.parametrize("journal", ["sound.journal", "heard.journal"])
def test_a_journal_torn_by_a_crash_gives_the_same_bytes(
    journal: str, share: float, talk: Path, process: Process, tmp_path: Path
) -> None:
    assert process(talk) == DONE
    before = results(tmp_path / "out")
    path = tmp_path / "out" / journal
    os.truncate(path, round(path.stat().st_size * share))
    for name in FILES:
        (tmp_path / "out" / name).unlink()
    assert process(talk) == DONE
    assert results(tmp_path / "out") == before


def test_a_full_disk_is_named_and_the_work_goes_on_once_there_is_room(
    talk: Path,
    process: Process,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """The journal's writes are given 400 kB of disk in all, 12 seconds of sound."""
    assert process(talk, out=tmp_path / "whole") == DONE
    room = 400_000
    write_all = capture.journal._write_all

    def write_some(file: object, data: bytes) -> None:
        nonlocal room
        if len(data) > room:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        room -= len(data)
        write_all(file, data)  # type: ignore[arg-type]

    capsys.readouterr()
    with monkeypatch.context() as full:
        full.setattr(capture.journal, "_write_all", write_some)
        assert process(talk) == NOT_DONE
    line = one_line(capsys.readouterr().err)
    assert "the disk is full" in line
    assert "[journal-full]" in line
    assert process(talk) == DONE
    assert results(tmp_path / "out") == results(tmp_path / "whole")


def test_interrupted_work_says_how_to_go_on(
    talk: Path,
    process: Process,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    from capture.engines.scripted import ScriptedEngine

    hear = ScriptedEngine.hear

    def interrupted(self: ScriptedEngine, segment: object) -> object:
        if getattr(segment, "number", 0) == 2:
            raise KeyboardInterrupt
        return hear(self, segment)  # type: ignore[arg-type]

    with monkeypatch.context() as pressed:
        pressed.setattr(ScriptedEngine, "hear", interrupted)
        pressed.setattr(sys, "argv", ["witnessmark", "process", "my talk.wav"])
        assert process(talk) == NOT_DONE
    line = one_line(capsys.readouterr().err)
    assert "interrupted; what was heard is kept" in line
    assert line.endswith("witnessmark process 'my talk.wav'")
    assert process(talk) == DONE


def test_the_folder_of_other_work_is_refused(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert process(talk) == DONE
    before = results(tmp_path / "out")
    other = tmp_path / "other.json"
    other.write_text('["something else"]')
    for arguments, says in (
        ((RECORDING,), "another recording"),
        ((talk, "--engine", "scripted", "--model", str(other)), "another engine"),
    ):
        capsys.readouterr()
        assert process(*arguments) == NOT_DONE
        assert says in one_line(capsys.readouterr().err)
    assert process(talk, sheet="booster-multistage") == NOT_DONE
    assert "another sheet" in one_line(capsys.readouterr().err)
    assert results(tmp_path / "out") == before


def test_two_processes_never_work_in_one_folder(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "out"
    out.mkdir()
    holder = subprocess.Popen(
        [sys.executable, "-c", f"import fcntl, sys; f = open({str(out / LOCK_FILE)!r}, 'w'); "
         "fcntl.flock(f, fcntl.LOCK_EX); print(flush=True); sys.stdin.read()"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE,
    )  # fmt: skip
    try:
        assert holder.stdout is not None
        holder.stdout.readline()
        assert process(talk) == NOT_DONE
        assert "[output-busy]" in one_line(capsys.readouterr().err)
    finally:
        holder.kill()
        holder.communicate()
    assert process(talk) == DONE


# -- bad input ----------------------------------------------------------------------------------------


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
        (lambda path: path.mkdir(), "sound-unreadable"),
        (lambda path: None, "sound-not-found"),
    ],
    ids=["empty", "header only", "text", "picture", "folder", "absent"],
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
    assert "[picture-not-found]" in one_line(capsys.readouterr().err)


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
