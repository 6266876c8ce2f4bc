"""How a journal lies on disk, and reading it back without believing anything that is damaged.

    header   mark 8 · version u16 · 0 u16 · identity 8 · meta length u32 · meta (JSON) · CRC-32 u32
    entry    mark 4 · sequence u32 · kind u16 · 0 u16 · payload length u32 · CRC-32 u32 · payload · CRC-32 u32

Numbers are little-endian. Every CRC-32 (ISO-HDLC, as zlib computes it) begins with the journal's random
identity, so that an entry of another journal that the disk left behind is not taken for one of this.
A damaged byte is always seen: a CRC-32 finds every burst of up to 32 bits.
"""

from __future__ import annotations

import json
import os
import struct
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO, Literal

from shared.errors import JournalDamaged, JournalError

FILE_MARK = b"\x89WMJ\r\n\x1a\n"
VERSION = 1
IDENTITY_BYTES = 8
#: An entry longer than this is never written, so a length beyond it is damage.
PAYLOAD_MOST = 1 << 26
#: Kind of the entry that says "nothing was to follow".
CLOSED = 0xFFFF

_ENTRY_MARK = b"\xf5WJ\x01"
_HEAD = struct.Struct("<4sIHHI")
_CRC = struct.Struct("<I")
_ENTRY_HEAD_BYTES = _HEAD.size + _CRC.size
_FILE_HEAD = struct.Struct(f"<8sHH{IDENTITY_BYTES}sI")
_SEARCH_BYTES = 1 << 16


@dataclass(frozen=True, slots=True)
class JournalEntry:
    """One entry, as it was appended."""

    sequence: int
    """From 0."""
    kind: int
    payload: bytes
    at_byte: int


@dataclass(frozen=True, slots=True)
class JournalTail:
    """How reading a journal ended."""

    state: Literal["whole", "torn", "damaged"]
    """Torn: the file ends inside of an entry, as a crash leaves it. Damaged: it holds what nobody wrote."""
    at_byte: int
    """Where the tear or the first damage is; the file's length where it is whole."""
    entries: int
    """Good entries read."""
    lost_entries: int = 0
    """Entries that damage took, as far as the numbers of the later ones tell."""
    closed: bool = False
    """Whether the writer said that nothing was to follow; otherwise it crashed, or is still writing."""
    said: str = ""
    torn_at: int | None = None
    """Where the file ends inside of an entry, whether or not there is damage before."""

    def __str__(self) -> str:
        if self.state == "whole":
            return f"whole, {self.entries} entries" + ("" if self.closed else ", never closed")
        return f"{self.state} at byte {self.at_byte}: {self.said}; {self.entries} entries saved"


@dataclass(frozen=True, slots=True)
class JournalHeader:
    """What stands at the beginning of a journal."""

    identity: bytes
    meta: dict[str, Any]
    length: int
    """Bytes."""


def pack_header(identity: bytes, meta: dict[str, Any]) -> bytes:
    """Return the bytes of a journal's header."""
    text = json.dumps(meta, sort_keys=True).encode()
    head = _FILE_HEAD.pack(FILE_MARK, VERSION, 0, identity, len(text)) + text
    return head + _CRC.pack(zlib.crc32(head))


def pack_entry(identity: bytes, sequence: int, kind: int, payload: bytes) -> bytes:
    """Return the bytes of one entry."""
    head = _HEAD.pack(_ENTRY_MARK, sequence, kind, 0, len(payload))
    head_crc = zlib.crc32(head, zlib.crc32(identity))
    return b"".join((head, _CRC.pack(head_crc), payload, _CRC.pack(zlib.crc32(payload, head_crc))))


def read_header(file: BinaryIO, path: Path) -> JournalHeader:
    """Read a journal's header.

    Raises:
        JournalDamaged: it is no journal, or its header is damaged.
        JournalError: it was written by a later version.
    """
    where = str(path)
    head = file.read(_FILE_HEAD.size)
    if len(head) < _FILE_HEAD.size or head[:8] != FILE_MARK:
        raise JournalDamaged("no journal begins here", where=where, expected="a journal of ours")
    _, version, _, identity, length = _FILE_HEAD.unpack(head)
    text = file.read(length) if length <= PAYLOAD_MOST else b""
    crc = file.read(_CRC.size)
    if len(text) != length or crc != _CRC.pack(zlib.crc32(head + text)):
        raise JournalDamaged("the journal's header is damaged", where=where, remedy="process it anew")
    if version != VERSION:
        raise JournalError(f"journal version {version}", where=where, expected=f"version {VERSION}")
    return JournalHeader(identity, json.loads(text), len(head) + len(text) + len(crc))


class JournalReader:
    """Entries of a journal, in order, and then how it ended.

    Args:
        path: the journal; it may still be written to, then what is there now is read.
        past_damage: go on behind damage. Otherwise the entries before the first damage are all.

    Raises:
        JournalDamaged, JournalError: as :func:`read_header`, or it cannot be opened.
    """

    def __init__(self, path: Path, *, past_damage: bool = False) -> None:
        self.path = path
        self._past_damage = past_damage
        self._tail: JournalTail | None = None
        with self._open() as file:
            self.header = read_header(file, path)

    @property
    def meta(self) -> dict[str, Any]:
        """What the writer said of the journal when it began it."""
        return self.header.meta

    @property
    def tail(self) -> JournalTail:
        """How it ended.

        Raises:
            RuntimeError: it has not been read to its end.
        """
        if self._tail is None:
            raise RuntimeError("the end of a journal is known once it has been read")
        return self._tail

    def __iter__(self) -> Iterator[JournalEntry]:
        self._tail = None
        with self._open() as file:
            size = os.fstat(file.fileno()).st_size
            scan = _Scan(file, size, self.header, self._past_damage)
            yield from scan.entries()
        self._tail = scan.tail()

    def entries_from(self, at_byte: int) -> Iterator[JournalEntry]:
        """Yield the entries from the first good one at or behind a byte; ``tail`` does not tell of these.

        Damage is passed over: a number that does not follow the one before says so.
        """
        with self._open() as file:
            size = os.fstat(file.fileno()).st_size
            scan = _Scan(file, size, self.header, True)
            if scan.begin_behind(at_byte):
                yield from scan.entries()

    def _open(self) -> BinaryIO:
        try:
            return self.path.open("rb")
        except OSError as exc:
            raise JournalError(f"the journal cannot be read ({exc.strerror})", where=str(self.path)) from exc


class _Scan:
    """One pass over the entries."""

    def __init__(self, file: BinaryIO, size: int, header: JournalHeader, past_damage: bool) -> None:
        self._file, self._size, self._past_damage = file, size, past_damage
        self._crc_start = zlib.crc32(header.identity)
        self._at = header.length
        self._expected: int | None = 0
        self._good = 0
        self._lost = 0
        self._closed = False
        self._torn_at: int | None = None
        self._damaged_at: int | None = None
        self._said = ""

    def entries(self) -> Iterator[JournalEntry]:
        while self._at < self._size:
            entry = self._entry_here()
            if isinstance(entry, JournalEntry):
                self._expected = entry.sequence + 1
                self._good += 1
                self._closed = entry.kind == CLOSED
                if not self._closed:
                    yield entry
            elif entry is None:
                if not self._torn_before_good_entry() or not self._past_damage:
                    return
            elif not self._past_damage or not self._to_next_entry(entry):
                return

    def begin_behind(self, at_byte: int) -> bool:
        """Go to the first good head at or behind a byte, whatever its number; False where there is none."""
        self._expected = None
        return self._to_next_entry(max(at_byte, self._at))

    def tail(self) -> JournalTail:
        state: Literal["whole", "torn", "damaged"] = "whole"
        at, said = self._size, ""
        if self._damaged_at is not None:
            state, at, said = "damaged", self._damaged_at, self._said
        elif self._torn_at is not None:
            state, at, said = "torn", self._torn_at, "the file ends inside of an entry"
        closed = self._closed and self._torn_at is None
        return JournalTail(state, at, self._good, self._lost, closed, said, self._torn_at)

    def _entry_here(self) -> JournalEntry | int | None:
        """Return the entry; None for a tear; for damage the byte from which to search on."""
        at = self._at
        self._file.seek(at)
        head = self._file.read(_ENTRY_HEAD_BYTES)
        if len(head) < _ENTRY_HEAD_BYTES:
            if _ENTRY_MARK.startswith(head[:4]):
                self._torn_at = at
                return None
            return self._damage(at, "no entry begins there", self._size)
        length = self._good_length(head)
        if length is None:
            return self._damage(at, "no entry begins there", at + 1)
        after = at + _ENTRY_HEAD_BYTES + length + _CRC.size
        if after > self._size:
            self._torn_at = at
            return None
        payload = self._file.read(length)
        head_crc = _CRC.unpack(head[_HEAD.size :])[0]
        if self._file.read(_CRC.size) != _CRC.pack(zlib.crc32(payload, head_crc)):
            # Its length may reach over good entries if a torn entry was written on behind: search inside.
            return self._damage(at, "an entry is not what was written", at + _ENTRY_HEAD_BYTES)
        _, sequence, kind, _, _ = _HEAD.unpack(head[: _HEAD.size])
        if self._expected is not None and sequence != self._expected:
            self._damage(at, f"entry {self._expected} was to follow, here is {sequence}", at)
            if sequence < self._expected or not self._past_damage:
                return after
            self._lost += sequence - self._expected
        self._at = after
        return JournalEntry(sequence, kind, payload, at)

    def _torn_before_good_entry(self) -> bool:
        """Tell a tear at the end from one that something was written behind; go there if so."""
        torn_at = self._at
        if not self._to_next_entry(torn_at + 1):
            return False
        self._torn_at = None
        self._damage(torn_at, "an entry ends before its length", self._at)
        return True

    def _good_length(self, head: bytes) -> int | None:
        if head[:4] != _ENTRY_MARK:
            return None
        crc = zlib.crc32(head[: _HEAD.size], self._crc_start)
        length: int = _HEAD.unpack(head[: _HEAD.size])[4]
        return length if head[_HEAD.size :] == _CRC.pack(crc) and length <= PAYLOAD_MOST else None

    def _damage(self, at: int, said: str, search_from: int) -> int:
        if self._damaged_at is None:
            self._damaged_at, self._said = at, said
        return search_from

    def _to_next_entry(self, start: int) -> bool:
        """Go to the next byte at which an entry's good head stands; False where there is none."""
        at, kept = start, b""
        self._file.seek(start)
        while block := self._file.read(_SEARCH_BYTES):
            window = kept + block
            base = at - len(kept)
            found = window.find(_ENTRY_MARK)
            while found >= 0:
                head = window[found : found + _ENTRY_HEAD_BYTES]
                if len(head) < _ENTRY_HEAD_BYTES:
                    break
                if self._good_length(head) is not None:
                    self._at = base + found
                    return True
                found = window.find(_ENTRY_MARK, found + 1)
            at += len(block)
            kept = window[-(_ENTRY_HEAD_BYTES - 1) :]
        self._at = self._size
        return False
