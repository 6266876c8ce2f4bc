"""Work that was killed, interrupted or short of disk ends with the same files; other work is refused."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

import capture.journal
from api.failure import DONE, NOT_DONE
from api.work_folder import LOCK_FILE
from capture.sound import RATE_HZ
from tests.api.processing import FILES, PHOTOS, RECORDING, SHEET, Process, one_line, results, write_wav
from tests.recorded_sound import recorded_sound


@pytest.mark.long
def test_the_same_command_again_takes_the_work_up_and_gives_the_same_bytes(
    talk: Path, process: Process, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert process(talk, "--photos", str(PHOTOS)) == DONE
    before = results(tmp_path / "out")
    capsys.readouterr()
    assert process(talk, "--photos", str(PHOTOS)) == DONE
    assert results(tmp_path / "out") == before
    assert "taking up the work" in capsys.readouterr().err


@pytest.mark.long
def test_killed_in_the_middle_and_started_again_gives_the_same_bytes(
    process: Process, script: Path, tmp_path: Path
) -> None:
    """``kill -9`` while it listens, as soon as three utterances are on disk."""
    recording = write_wav(tmp_path / "long.wav", recorded_sound(RECORDING)[: 120 * RATE_HZ])
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


@pytest.mark.long
def test_a_second_run_is_refused_while_the_first_works_and_leaves_its_results_alone(
    process: Process, script: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two real processes; the first is held still while the second tries."""
    recording = write_wav(tmp_path / "long.wav", recorded_sound(RECORDING)[: 60 * RATE_HZ])
    assert process(recording, out=tmp_path / "alone") == DONE
    out = tmp_path / "out"
    command = ["process", str(recording), "--sheet", SHEET, "--out", str(out), "--engine", "scripted"]
    first = subprocess.Popen(
        [sys.executable, "-m", "api", *command, "--model", str(script)],
        stderr=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
    )
    while first.poll() is None and not (out / "heard.journal").exists():
        os.sched_yield()
    first.send_signal(signal.SIGSTOP)
    try:
        capsys.readouterr()
        assert process(recording) == NOT_DONE
        assert "[output-busy]" in one_line(capsys.readouterr().err)
    finally:
        first.send_signal(signal.SIGCONT)
    assert first.wait() == DONE
    assert results(out) == results(tmp_path / "alone")
