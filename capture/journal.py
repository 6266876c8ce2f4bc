"""The append-only journal: what was captured is on disk before anything is done with it.

After a crash at any byte :meth:`Journal.open` cuts off the entry that was being written and goes on
behind the last whole one. Damage is never cut off and never taken for the end.
"""

from __future__ import annotations

import errno
import io
import os
import secrets
from collections.abc import Callable
from pathlib import Path
from types import TracebackType
from typing import Any

from capture.journal_format import (
    CLOSED,
    IDENTITY_BYTES,
    PAYLOAD_MOST,
    JournalEntry,
    JournalReader,
    JournalTail,
    pack_entry,
    pack_header,
)
from shared.errors import JournalError, JournalFull

__all__ = ["Journal", "JournalEntry", "JournalReader", "JournalTail", "read_journal"]

#: What a full disk, a full quota and a file size limit say.
_FULL = {errno.ENOSPC, errno.EDQUOT, errno.EFBIG}

#: How the file is opened for writing; a test puts a full disk here.
OpenRaw = Callable[[Path, str], io.RawIOBase]


def read_journal(path: Path | str, *, past_damage: bool = False) -> JournalReader:
    """Open a journal for reading.

    Iterate for the entries, then look at ``tail``. With ``past_damage`` the entries behind damage are
    given too; the gaps show in their numbers.

    Raises:
        JournalDamaged: no journal, or its header is damaged.
        JournalError: it cannot be opened, or a later version wrote it.
    """
    return JournalReader(Path(path), past_damage=past_damage)


def _open_raw(path: Path, mode: str) -> io.RawIOBase:
    return io.FileIO(path, mode)


class Journal:
    """A journal that is being written; make one with :meth:`create` or :meth:`open`."""

    def __init__(self, path: Path, file: io.RawIOBase, identity: bytes, end: int, sequence: int) -> None:
        self.path = path
        self.recovered: JournalTail | None = None
        """How the journal ended when it was opened again; None for a new one."""
        self._file, self._identity = file, identity
        self._end, self._sequence = end, sequence
        self._broken = False

    @classmethod
    def create(cls, path: Path | str, meta: dict[str, Any], *, open_raw: OpenRaw = _open_raw) -> Journal:
        """Begin a journal; it appears under its name only once its header is safely on disk.

        Raises:
            JournalFull: the disk takes no more.
            JournalError: the file is there already or cannot be made.
        """
        path = Path(path)
        if path.exists():
            raise JournalError("there is a journal already", where=str(path), remedy="open it instead")
        identity = secrets.token_bytes(IDENTITY_BYTES)
        header = pack_header(identity, meta)
        unborn = path.with_name(path.name + ".new")
        try:
            with open_raw(unborn, "wb") as file:
                _write_all(file, header)
                os.fsync(file.fileno())
            unborn.replace(path)
            _sync_folder(path.parent)
            file = open_raw(path, "r+b")
            file.seek(len(header))
        except OSError as exc:
            unborn.unlink(missing_ok=True)
            raise _translated(exc, path) from exc
        return cls(path, file, identity, len(header), 0)

    @classmethod
    def open(cls, path: Path | str, *, open_raw: OpenRaw = _open_raw) -> Journal:
        """Take a journal up again: a torn entry at its end is cut off, ``recovered`` says so.

        Raises:
            JournalDamaged, JournalError: as :func:`read_journal`.
        """
        journal, _ = cls.open_and_read(path, open_raw=open_raw)
        return journal

    @classmethod
    def open_and_read(
        cls,
        path: Path | str,
        look: Callable[[JournalEntry], None] = lambda entry: None,
        *,
        open_raw: OpenRaw = _open_raw,
    ) -> tuple[Journal, JournalReader]:
        """Open as :meth:`open`, and show every entry that is there to ``look`` in the same pass."""
        path = Path(path)
        reader = read_journal(path, past_damage=True)
        sequence = 0
        for entry in reader:
            sequence = entry.sequence + 1
            look(entry)
        tail = reader.tail
        sequence += tail.closed
        try:
            file = open_raw(path, "r+b")
            end = file.seek(0, os.SEEK_END) if tail.torn_at is None else tail.torn_at
            file.truncate(end)
            file.seek(end)
            os.fsync(file.fileno())
        except OSError as exc:
            raise _translated(exc, path) from exc
        journal = cls(path, file, reader.header.identity, end, sequence)
        journal.recovered = tail
        return journal, reader

    @property
    def next_sequence(self) -> int:
        """Number of the entry that will be appended next."""
        return self._sequence

    def append(self, kind: int, payload: bytes) -> int:
        """Write one entry; it is safe from a power cut once :meth:`sync` has returned.

        Args:
            kind: 0 to 65534, the caller's.
            payload: up to 64 MiB.

        Returns:
            Its number.

        Raises:
            JournalFull: the disk takes no more. Nothing of the entry is left; it can be tried again.
            JournalError: it cannot be written.
        """
        if not 0 <= kind < CLOSED or len(payload) > PAYLOAD_MOST:
            raise ValueError(f"kind {kind} with {len(payload)} bytes cannot be an entry")
        return self._append(kind, payload)

    def sync(self) -> None:
        """Have everything appended so far on disk.

        Raises:
            JournalFull, JournalError: it is not; open the journal again to see what is.
        """
        try:
            os.fsync(self._file.fileno())
        except OSError as exc:
            # The system may have dropped what it could not write: only reading it again tells.
            self._broken = True
            raise _translated(exc, self.path) from exc

    def close(self) -> None:
        """Write that nothing is to follow, have it on disk and close the file."""
        if self._file.closed:
            return
        try:
            self._append(CLOSED, b"")
            self.sync()
        finally:
            self._file.close()

    def abandon(self) -> None:
        """Close the file as a crash would: without a word that nothing was to follow."""
        self._file.close()

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is None:
            self.close()
        else:
            self.abandon()

    def _append(self, kind: int, payload: bytes) -> int:
        if self._broken:
            raise JournalError(
                "the journal could not be written before", where=str(self.path), remedy="open it again"
            )
        packed = pack_entry(self._identity, self._sequence, kind, payload)
        try:
            _write_all(self._file, packed)
        except OSError as exc:
            self._take_back()
            raise _translated(exc, self.path) from exc
        self._end += len(packed)
        self._sequence += 1
        return self._sequence - 1

    def _take_back(self) -> None:
        """Cut off what there is of an entry that did not fit."""
        try:
            self._file.truncate(self._end)
            self._file.seek(self._end)
        except OSError:
            # The torn entry stays; opening the journal again cuts it off.
            self._broken = True


def _write_all(file: io.RawIOBase, data: bytes) -> None:
    view = memoryview(data)
    while view:
        # A raw file may take less than it was given, above all just before the disk is full.
        written = file.write(view) or 0
        view = view[written:]


def _sync_folder(folder: Path) -> None:
    """Have the file's name on disk too, where the system knows folders as files."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _translated(error: OSError, path: Path) -> JournalError:
    if error.errno in _FULL:
        return JournalFull(
            "the disk is full; everything captured before is kept",
            where=str(path),
            remedy="free some space, then give the same command again",
        )
    return JournalError(f"the journal cannot be written ({error.strerror})", where=str(path))
