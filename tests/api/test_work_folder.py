"""The output folder: taken up, refused, locked, and never half written."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from api.work_folder import IDENTITY_FILE, LOCK_FILE, WorkIdentity, open_work_folder
from shared.errors import OutputBusy, OutputForeign, OutputUnwritable

MINE = WorkIdentity("a.wav", "1" * 64, "sheet-a", "2" * 64, "scripted 1", "3" * 64)


def test_an_absent_folder_is_made_and_the_same_work_taken_up(tmp_path: Path) -> None:
    out = tmp_path / "deep" / "out"
    with open_work_folder(out, MINE) as folder:
        assert not folder.taken_up
        folder.write("record.json", b"{}")
    with open_work_folder(out, MINE) as folder:
        assert folder.taken_up
    assert (out / "record.json").read_bytes() == b"{}"


@pytest.mark.parametrize(
    ("changed", "about"),
    [
        ({"recording_sha256": "9" * 64}, "another recording \\(a.wav with other content"),
        ({"recording_sha256": "9" * 64, "recording": "b.wav"}, "another recording \\(a.wav, now b.wav"),
        ({"sheet_sha256": "9" * 64}, "another sheet"),
        (
            {"engine": "whisper tiny", "engine_sha256": "9" * 64},
            "another engine \\(scripted 1, now whisper tiny",
        ),
    ],
)
def test_the_folder_of_other_work_is_refused(tmp_path: Path, changed: dict[str, str], about: str) -> None:
    with open_work_folder(tmp_path / "out", MINE):
        pass
    with (
        pytest.raises(OutputForeign, match=about),
        open_work_folder(tmp_path / "out", replace(MINE, **changed)),
    ):
        pytest.fail("opened")


def test_a_recording_that_was_renamed_is_the_same_work(tmp_path: Path) -> None:
    with open_work_folder(tmp_path / "out", MINE):
        pass
    with open_work_folder(tmp_path / "out", replace(MINE, recording="renamed.wav")) as folder:
        assert folder.taken_up


@pytest.mark.parametrize("name", ["holiday.jpg", "record.json", IDENTITY_FILE])
def test_a_folder_with_other_files_is_refused_and_left_alone(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text("mine")
    with pytest.raises(OutputForeign), open_work_folder(tmp_path, MINE):
        pytest.fail("opened")
    assert (tmp_path / name).read_text() == "mine"


def test_what_a_crash_before_the_first_write_leaves_is_taken_up(tmp_path: Path) -> None:
    (tmp_path / LOCK_FILE).touch()
    (tmp_path / f".{IDENTITY_FILE}.tmp").write_text('{"form')
    with open_work_folder(tmp_path, MINE) as folder:
        assert not folder.taken_up


def test_a_second_process_is_refused_until_the_first_is_dead(tmp_path: Path) -> None:
    holder = subprocess.Popen(
        [sys.executable, "-c", f"import fcntl, sys; f = open({str(tmp_path / LOCK_FILE)!r}, 'w'); "
         "fcntl.flock(f, fcntl.LOCK_EX); print('held', flush=True); sys.stdin.read()"],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        assert holder.stdout is not None
        assert holder.stdout.readline() == "held\n"
        with pytest.raises(OutputBusy, match="another process"), open_work_folder(tmp_path, MINE):
            pytest.fail("opened")
    finally:
        holder.kill()
        holder.communicate()
    with open_work_folder(tmp_path, MINE):
        pass


def test_a_file_in_the_folders_place_is_refused(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("")
    with pytest.raises(OutputUnwritable, match="this is a file"), open_work_folder(tmp_path / "out", MINE):
        pytest.fail("opened")


def test_a_place_where_nothing_can_be_made_is_said_to_be_unwritable(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(OutputUnwritable), open_work_folder(tmp_path / "file" / "out", MINE):
        pytest.fail("opened")


def test_a_full_disk_leaves_the_old_file_whole(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_work_folder(tmp_path / "out", MINE) as folder:
        folder.write("record.json", b"old")

        def full(_fd: int) -> None:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

        monkeypatch.setattr(os, "fsync", full)
        with pytest.raises(OutputUnwritable, match="the disk is full; free some space"):
            folder.write("record.json", b"new and longer")
    assert (tmp_path / "out" / "record.json").read_bytes() == b"old"
