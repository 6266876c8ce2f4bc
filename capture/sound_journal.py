"""Captured sound in a journal: blocks with the sample that each begins at, and marks between them."""

from __future__ import annotations

import json
import struct
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Any

import numpy as np

from capture.journal import Journal, JournalEntry, JournalReader, JournalTail, read_journal
from capture.sound_blocks import BLOCK_SAMPLES, RATE_HZ, Samples
from shared.errors import JournalDamaged

_SOUND, _MARK = 1, 2
_AT_SAMPLE = struct.Struct("<Q")
_META_KIND = "sound/1"
#: So near, reading on is as fast as halving on.
_NEAR_BYTES = 1 << 16


@dataclass(frozen=True, slots=True)
class SoundMark:
    """Something noted at a moment of the sound."""

    name: str
    at_sample: int
    details: dict[str, Any] = field(default_factory=dict)

    @property
    def at_s(self) -> float:
        """Seconds from the start of the recording."""
        return self.at_sample / RATE_HZ


@dataclass(frozen=True, slots=True)
class LostSound:
    """A stretch that damage took from the journal; its place is filled with silence."""

    start_s: float
    end_s: float


class SoundJournal:
    """Sound being captured; make one with :meth:`create` or :meth:`open`.

    Args:
        journal: the journal underneath.
        resume_at_sample: the sample that comes next.
        sync_every_s: seconds of sound after which it is made safe from a power cut.
    """

    def __init__(self, journal: Journal, resume_at_sample: int, sync_every_s: float) -> None:
        self.resume_at_sample = resume_at_sample
        """The first sample that is not in the journal: where capturing goes on."""
        self._journal = journal
        self._sync_every = round(sync_every_s * RATE_HZ)
        self._unsynced = 0

    @classmethod
    def create(
        cls, path: Path | str, meta: dict[str, Any] | None = None, *, sync_every_s: float = 2.0
    ) -> SoundJournal:
        """Begin a journal of sound.

        Args:
            path: where; nothing may be there yet.
            meta: what it is a recording of, kept in its header; JSON.
            sync_every_s: seconds of sound after which it is made safe from a power cut.

        Raises:
            JournalFull, JournalError: as :meth:`Journal.create`.
        """
        header = {**(meta or {}), "journal": _META_KIND, "rate_hz": RATE_HZ}
        return cls(Journal.create(path, header), 0, sync_every_s)

    @classmethod
    def open(cls, path: Path | str, *, sync_every_s: float = 2.0) -> SoundJournal:
        """Take a journal of sound up again behind the last whole block.

        Raises:
            JournalDamaged: no journal of sound.
            JournalError: it cannot be opened.
        """
        end = 0

        def look(entry: JournalEntry) -> None:
            nonlocal end
            if entry.kind == _SOUND:
                at_sample, count = _span(entry)
                end = max(end, at_sample + count)

        _check_is_sound(read_journal(path))
        journal, _ = Journal.open_and_read(path, look)
        return cls(journal, end, sync_every_s)

    @property
    def path(self) -> Path:
        """The journal's file."""
        return self._journal.path

    @property
    def recovered(self) -> JournalTail | None:
        """How the journal ended when it was opened again; None for a new one."""
        return self._journal.recovered

    def append(self, block: Samples, at_sample: int | None = None) -> None:
        """Write a block.

        Args:
            block: int16, mono, 16 kHz, at most half an hour.
            at_sample: where it begins, if not right behind the last one; what lies between reads as silence.

        Raises:
            JournalFull: the disk takes no more; the block can be tried again.
            ValueError: it would begin before the last one ends.
        """
        at_sample = self.resume_at_sample if at_sample is None else at_sample
        if at_sample < self.resume_at_sample:
            raise ValueError(
                f"sample {at_sample} is in the journal, which goes on at {self.resume_at_sample}"
            )
        payload = _AT_SAMPLE.pack(at_sample) + block.astype("<i2", copy=False).tobytes()
        self._journal.append(_SOUND, payload)
        self.resume_at_sample = at_sample + len(block)
        self._unsynced += len(block)
        if self._unsynced >= self._sync_every:
            self.sync()

    def mark(self, name: str, at_sample: int | None = None, **details: Any) -> None:
        """Note something at a moment (the end of what is captured, if no other) and make it safe at once."""
        at_sample = self.resume_at_sample if at_sample is None else at_sample
        noted = {"name": name, "at_sample": at_sample, "details": details}
        self._journal.append(_MARK, json.dumps(noted, sort_keys=True).encode())
        self.sync()

    def sync(self) -> None:
        """Have everything so far on disk."""
        self._journal.sync()
        self._unsynced = 0

    def close(self) -> None:
        """Say that the sound is complete, and close."""
        self._journal.close()

    def abandon(self) -> None:
        """Close as a crash would: the sound is not complete."""
        self._journal.abandon()

    def __enter__(self) -> SoundJournal:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._journal.__exit__(kind, error, trace)


class SoundJournalReader:
    """The sound of a journal, block by block as it was written; every later stage reads this.

    ``marks``, ``lost`` and ``tail`` are about the last iteration, complete once it reached the end.
    """

    def __init__(self, reader: JournalReader) -> None:
        _check_is_sound(reader)
        self.marks: list[SoundMark] = []
        self.lost: list[LostSound] = []
        self._reader = reader

    @property
    def meta(self) -> dict[str, Any]:
        """What the writer said that it is a recording of."""
        return self._reader.meta

    @property
    def tail(self) -> JournalTail:
        """How the journal ended (``closed`` says whether the sound was complete).

        Raises:
            RuntimeError: it has not been read to its end.
        """
        return self._reader.tail

    def __iter__(self) -> Iterator[Samples]:
        return self.blocks()

    def blocks(self, from_sample: int = 0) -> Iterator[Samples]:
        """Yield the blocks, identical to what was written, from a sample on; what was lost as silence."""
        self.marks, self.lost = [], []
        position = 0
        for entry in self._reader:
            if entry.kind == _MARK:
                self.marks.append(_mark(entry))
            if entry.kind != _SOUND:
                continue
            at_sample, count = _span(entry)
            if at_sample > position:
                self.lost.append(LostSound(position / RATE_HZ, at_sample / RATE_HZ))
                yield from _silence(max(position, from_sample), at_sample)
            if at_sample + count > from_sample:
                yield _sound(entry)[max(0, from_sample - at_sample) :]
            position = at_sample + count

    def between(self, start_s: float, end_s: float) -> Samples:
        """Return the sound from one moment to another, such as that of one utterance, as far as there is any.

        A stretch from the end of hours takes no longer than one from their beginning: the journal is
        halved until its first block is near, and read from there. Only a stretch that is not there
        without a gap is looked for from the beginning of the journal.
        """
        first, last = max(0, round(start_s * RATE_HZ)), round(end_s * RATE_HZ)
        blocks, gaps = self._blocks_of(first, last, self._byte_before(first))
        if gaps:
            blocks, _ = self._blocks_of(first, last, 0)
        end = max((at_sample + len(block) for at_sample, block in blocks), default=first)
        wanted = np.zeros(max(0, min(last, end) - first), np.int16)
        for at_sample, block in blocks:
            piece = block[max(0, first - at_sample) : max(0, last - at_sample)]
            offset = max(0, at_sample - first)
            wanted[offset : offset + len(piece)] = piece[: len(wanted) - offset]
        return wanted

    def _blocks_of(self, first: int, last: int, from_byte: int) -> tuple[list[tuple[int, Samples]], bool]:
        """Return the blocks behind a byte that a stretch of samples lies in, up to the one behind it.

        Also whether any of the stretch before the last of them is in none.
        """
        found: list[tuple[int, Samples]] = []
        covered, gaps = first, False
        for entry in self._reader.entries_from(from_byte):
            if entry.kind != _SOUND:
                continue
            at_sample, count = _span(entry)
            if at_sample + count > first:
                found.append((at_sample, _sound(entry)))
                gaps = gaps or covered < min(at_sample, last)
                covered = at_sample + count
            if at_sample >= last:
                break
        return found, gaps or not found

    def _byte_before(self, sample: int) -> int:
        """Return a byte shortly before the last block that begins at or before a sample."""
        low, high = 0, self._reader.path.stat().st_size
        while high - low > _NEAR_BYTES:
            middle = (low + high) // 2
            behind = self._reader.entries_from(middle)
            block = next((entry for entry in behind if entry.kind == _SOUND), None)
            if block is None or _span(block)[0] > sample:
                high = middle
            else:
                low = block.at_byte
        return low


def read_sound_journal(path: Path | str) -> SoundJournalReader:
    """Open a journal of sound for reading.

    Raises:
        JournalDamaged: no journal of sound, or its header is damaged.
        JournalError: it cannot be opened.
    """
    return SoundJournalReader(read_journal(path, past_damage=True))


def _check_is_sound(reader: JournalReader) -> None:
    if reader.meta.get("journal") != _META_KIND or reader.meta.get("rate_hz") != RATE_HZ:
        raise JournalDamaged("this journal holds no sound", where=str(reader.path), expected=_META_KIND)


def _span(entry: JournalEntry) -> tuple[int, int]:
    return _AT_SAMPLE.unpack_from(entry.payload)[0], (len(entry.payload) - _AT_SAMPLE.size) // 2


def _sound(entry: JournalEntry) -> Samples:
    return np.frombuffer(entry.payload, "<i2", offset=_AT_SAMPLE.size).astype(np.int16)


def _mark(entry: JournalEntry) -> SoundMark:
    noted = json.loads(entry.payload)
    return SoundMark(noted["name"], noted["at_sample"], noted["details"])


def _silence(start: int, end: int) -> Iterator[Samples]:
    for at in range(start, end, BLOCK_SAMPLES):
        yield np.zeros(min(BLOCK_SAMPLES, end - at), np.int16)
