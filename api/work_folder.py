"""The folder that one piece of work is written to: whose it is, one process at a time, whole files only.

``work.json`` says which recording, sheet and engine the folder belongs to. A folder of the same work
is taken up where it stopped; one of another is refused, and so is one with somebody else's files. The
lock is the operating system's (flock), so that a killed process leaves none behind.
"""

from __future__ import annotations

import errno
import fcntl
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields
from pathlib import Path

from shared.errors import OutputBusy, OutputForeign, OutputUnwritable

IDENTITY_FILE = "work.json"
LOCK_FILE = ".lock"
_FORMAT = "witnessmark-work/1"


@dataclass(frozen=True)
class WorkIdentity:
    """What makes two runs the same work. What is not in here may change from run to run."""

    recording: str
    """File name, for people."""
    recording_sha256: str
    sheet: str
    """Id, for people."""
    sheet_sha256: str
    engine: str
    """Name and model, for people."""
    engine_sha256: str
    """Over everything that decides what it hears."""


class WorkFolder:
    """An output folder that this process holds; see :func:`open_work_folder`."""

    def __init__(self, path: Path, *, taken_up: bool) -> None:
        self.path = path
        self.taken_up = taken_up
        """Earlier work was found in it."""

    def write(self, name: str, data: bytes) -> Path:
        """Write a whole file or nothing: a reader sees the old content or the new, never a part.

        Args:
            name: relative to the folder; folders in it are made.

        Raises:
            OutputUnwritable: the disk is full or the folder may not be written.
        """
        path = self.path / name
        with _translated(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            temporary = path.with_name(f".{path.name}.tmp")
            with temporary.open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            temporary.replace(path)
            _sync_folder(path.parent)
        return path


@contextmanager
def open_work_folder(path: Path, identity: WorkIdentity) -> Iterator[WorkFolder]:
    """Make or take up the folder and hold it until the block ends.

    Raises:
        OutputForeign: it holds the work of another recording, sheet or engine, or other files.
        OutputBusy: another process works in it.
        OutputUnwritable: it cannot be made or written.
    """
    with held_folder(path, IDENTITY_FILE):
        taken_up = _claim(path, identity)
        yield WorkFolder(path, taken_up=taken_up)


@contextmanager
def held_folder(path: Path, mark: str) -> Iterator[None]:
    """Make a folder where there is none, and let no other process work in it until the block ends.

    Args:
        path: the folder.
        mark: the file by which our own folders are known; without it a folder must be empty.

    Raises:
        OutputForeign: it holds other files.
        OutputBusy: another process works in it.
        OutputUnwritable: it cannot be made or written.
    """
    with _translated(path):
        if path.exists() and not path.is_dir():
            raise OutputUnwritable("this is a file", where=str(path), expected="a folder, absent or empty")
        path.mkdir(parents=True, exist_ok=True)
        _refuse_other_files(path, mark)
        lock = os.open(path / LOCK_FILE, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o644)
    try:
        _take(lock, path)
        yield
    finally:
        os.close(lock)


def _take(lock: int, path: Path) -> None:
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as exc:
        raise OutputBusy(
            "another process is working in this folder", where=str(path),
            remedy="wait for it or choose another folder with --out",
        ) from exc  # fmt: skip


def _refuse_other_files(path: Path, mark: str) -> None:
    if (path / mark).exists():
        return
    # Hidden files are what a crash before the first write leaves, or the system's own.
    others = sorted(entry.name for entry in path.iterdir() if not entry.name.startswith("."))
    if others:
        raise OutputForeign(
            f"the folder holds other files ({others[0]})", where=str(path),
            expected="an absent or empty folder, or one of the same work", remedy="choose another with --out",
        )  # fmt: skip


def _claim(path: Path, identity: WorkIdentity) -> bool:
    """Write the identity into a new folder, or compare it with what is there; True when it was there."""
    file = path / IDENTITY_FILE
    wanted = {"format": _FORMAT, **asdict(identity)}
    if not file.exists():
        text = json.dumps(wanted, indent=2, ensure_ascii=False) + "\n"
        WorkFolder(path, taken_up=False).write(IDENTITY_FILE, text.encode())
        return False
    with _translated(file):
        data = file.read_bytes()
    try:
        found = json.loads(data)
    except ValueError:
        found = None
    if not isinstance(found, dict) or found.get("format") != _FORMAT:
        raise OutputForeign(
            f"{IDENTITY_FILE} is not of this program", where=str(path), remedy="choose another with --out"
        )
    for field in fields(identity):
        # The content decides: a recording that was renamed is still the same.
        about = field.name.removesuffix("_sha256")
        if about != field.name and found.get(field.name) != wanted[field.name]:
            was, is_ = found.get(about), wanted[about]
            detail = f"{was}, now {is_}" if was != is_ else f"{was} with other content"
            raise OutputForeign(
                f"the folder holds the work of another {about} ({detail})", where=str(path),
                remedy="choose another with --out",
            )  # fmt: skip
    return True


@contextmanager
def _translated(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as exc:
        full = exc.errno in (errno.ENOSPC, errno.EDQUOT)
        raise OutputUnwritable(
            "the disk is full" if full else f"cannot be written: {exc.strerror or exc}", where=str(path),
            remedy="free some space, then give the same command again" if full else "check its rights",
        ) from exc  # fmt: skip


def _sync_folder(path: Path) -> None:
    folder = os.open(path, os.O_RDONLY | os.O_DIRECTORY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
