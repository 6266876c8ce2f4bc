"""The journal: what was captured survives a crash at any byte, and damage is never silent."""

from __future__ import annotations

import errno
import io
import subprocess
import sys
import zlib
from pathlib import Path

import pytest

from capture.journal import Journal, JournalEntry, JournalTail, read_journal
from capture.journal_format import CLOSED, pack_entry
from shared.errors import JournalDamaged, JournalError, JournalFull

ENTRIES = [
    (1, b"vane one thirty one"),
    (2, b""),
    (1, bytes(range(60))),
    (7, b"\xf5WJ\x01 looks like an entry"),
]


def write(path: Path, entries: list[tuple[int, bytes]] = ENTRIES, *, close: bool = True) -> bytes:
    journal = Journal.create(path, {"recording": "a.wav"})
    for kind, payload in entries:
        journal.append(kind, payload)
    if close:
        journal.close()
    else:
        journal.abandon()
    return path.read_bytes()


def read(path: Path, *, past_damage: bool = False) -> tuple[list[tuple[int, bytes]], JournalTail]:
    reader = read_journal(path, past_damage=past_damage)
    entries = [(entry.kind, entry.payload) for entry in reader]
    return entries, reader.tail


def entry_starts(path: Path) -> list[int]:
    return [entry.at_byte for entry in read_journal(path)]


def test_entries_come_back_as_written(tmp_path: Path) -> None:
    data = write(tmp_path / "j")
    entries, tail = read(tmp_path / "j")
    assert entries == ENTRIES
    assert (tail.state, tail.closed, tail.at_byte) == ("whole", True, len(data))
    assert read_journal(tmp_path / "j").meta == {"recording": "a.wav"}


def test_a_journal_that_was_never_closed_says_so(tmp_path: Path) -> None:
    write(tmp_path / "j", close=False)
    entries, tail = read(tmp_path / "j")
    assert entries == ENTRIES
    assert (tail.state, tail.closed) == ("whole", False)
    assert "never closed" in str(tail)


def test_a_cut_at_every_byte_gives_a_prefix_and_says_what_happened(tmp_path: Path) -> None:
    path = tmp_path / "j"
    data = write(path)
    header_bytes, *borders = entry_starts(path)
    borders += [header_bytes, len(data) - len(pack_entry(bytes(8), 4, CLOSED, b""))]
    for cut in range(len(data)):
        path.write_bytes(data[:cut])
        if cut < header_bytes:
            with pytest.raises(JournalDamaged):
                read_journal(path)
            continue
        entries, tail = read(path)
        assert entries == ENTRIES[: len(entries)]
        assert not tail.closed
        assert (tail.state, tail.at_byte) == (("whole", cut) if cut in borders else ("torn", tail.at_byte))
        assert tail.at_byte == max(border for border in borders if border <= cut)


def test_after_a_crash_at_every_byte_the_journal_is_taken_up_and_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "j"
    data = write(path)
    for cut in range(entry_starts(path)[0], len(data)):
        path.write_bytes(data[:cut])
        before, _ = read(path)
        with Journal.open(path) as journal:
            assert journal.recovered is not None
            assert journal.recovered.state in {"torn", "whole"}
            assert journal.append(9, b"on we go") == len(before)
        entries, tail = read(path)
        assert entries == [*before, (9, b"on we go")]
        assert (tail.state, tail.closed) == ("whole", True)


def test_every_flipped_byte_is_seen_and_no_wrong_entry_is_read(tmp_path: Path) -> None:
    path = tmp_path / "j"
    data = write(path)
    header_bytes = entry_starts(path)[0]
    for at in range(len(data)):
        for mask in (0x01, 0x80, 0xFF):
            flipped = bytearray(data)
            flipped[at] ^= mask
            path.write_bytes(flipped)
            if at < header_bytes:
                with pytest.raises(JournalDamaged):
                    read_journal(path)
                continue
            entries, tail = read(path)
            assert entries == ENTRIES[: len(entries)]
            assert tail.state == "damaged"
            assert tail.at_byte <= at
            saved, tail = read(path, past_damage=True)
            assert len(saved) >= len(ENTRIES) - 1
            assert [entry for entry in ENTRIES if entry in saved] == saved
            assert tail.state == "damaged"


@pytest.mark.parametrize("cut_bytes", [0, 3, 17])
def test_writing_on_behind_damage_keeps_both_sides(tmp_path: Path, cut_bytes: int) -> None:
    path = tmp_path / "j"
    data = bytearray(write(path, close=False))
    data[entry_starts(path)[1] + 5] ^= 0x40
    path.write_bytes(data[: len(data) - cut_bytes])
    with Journal.open(path) as journal:
        assert journal.recovered is not None
        assert journal.recovered.state == "damaged"
        journal.append(9, b"after")
    saved, tail = read(path, past_damage=True)
    kept = ENTRIES[2:] if not cut_bytes else ENTRIES[2:-1]
    assert saved == [ENTRIES[0], *kept, (9, b"after")]
    assert (tail.state, tail.lost_entries) == ("damaged", 1)


def test_entries_behind_a_tear_that_was_written_over_are_found(tmp_path: Path) -> None:
    """As two writers that knew nothing of each other leave it: the torn length reaches over good entries."""
    path = tmp_path / "j"
    data = write(path, close=False)
    starts = entry_starts(path)
    path.write_bytes(data[: starts[2] + 30] + data[starts[3] :])
    assert read(path)[1].state == "damaged"
    saved, tail = read(path, past_damage=True)
    assert saved == [*ENTRIES[:2], ENTRIES[3]]
    assert (tail.state, tail.lost_entries) == ("damaged", 1)


def test_zeros_that_a_power_cut_left_are_damage_not_entries(tmp_path: Path) -> None:
    path = tmp_path / "j"
    path.write_bytes(write(path, close=False) + bytes(5000))
    entries, tail = read(path)
    assert entries == ENTRIES
    assert tail.state == "damaged"


def test_entries_of_another_journal_are_not_taken_for_ours(tmp_path: Path) -> None:
    ours, theirs = tmp_path / "a", tmp_path / "b"
    data, other = write(ours, close=False), write(theirs, close=False)
    ours.write_bytes(data + other[entry_starts(theirs)[0] :])
    entries, tail = read(ours, past_damage=True)
    assert entries == ENTRIES
    assert tail.state == "damaged"


def test_a_missing_entry_is_missed(tmp_path: Path) -> None:
    path = tmp_path / "j"
    data = write(path)
    starts = entry_starts(path)
    path.write_bytes(data[: starts[1]] + data[starts[2] :])
    assert read(path)[0] == ENTRIES[:1]
    saved, tail = read(path, past_damage=True)
    assert saved == [ENTRIES[0], *ENTRIES[2:]]
    assert (tail.state, tail.lost_entries) == ("damaged", 1)


class SmallDisk(io.FileIO):
    """A disk that takes so many bytes in all, the last write in part, as a real one does."""

    room = 0

    def write(self, data: object) -> int:
        view = memoryview(data)  # type: ignore[arg-type]
        taken = min(len(view), type(self).room)
        if len(view) and not taken:
            raise OSError(errno.ENOSPC, "No space left on device")
        type(self).room -= taken
        return super().write(view[:taken])


@pytest.mark.parametrize("room", range(0, 260, 7))
def test_a_full_disk_keeps_everything_before_and_leaves_nothing_torn(tmp_path: Path, room: int) -> None:
    path = tmp_path / "j"
    disk = type("Disk", (SmallDisk,), {"room": 10_000})
    journal = Journal.create(path, {}, open_raw=disk)
    disk.room = room
    kept: list[tuple[int, bytes]] = []

    def fill() -> None:
        for number in range(20):
            journal.append(1, b"x" * number)
            kept.append((1, b"x" * number))

    with pytest.raises(JournalFull, match="the disk is full"):
        fill()
    entries, tail = read(path)
    assert entries == kept
    assert (tail.state, tail.closed) == ("whole", False)
    disk.room = 10_000  # somebody made room: the same entry can be tried again
    journal.append(1, b"x" * len(kept))
    journal.close()
    assert read(path)[0] == [*kept, (1, b"x" * len(kept))]


def test_a_disk_too_full_for_the_header_leaves_no_file(tmp_path: Path) -> None:
    disk = type("Disk", (SmallDisk,), {"room": 9})
    with pytest.raises(JournalFull):
        Journal.create(tmp_path / "j", {"a": 1}, open_raw=disk)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="needs file size limits of POSIX")
def test_a_real_limit_on_the_file_size_is_a_full_disk(tmp_path: Path) -> None:
    program = (
        "import resource, sys\n"
        "from capture.journal import Journal\n"
        "from shared.errors import JournalFull\n"
        "journal = Journal.create(sys.argv[1], {})\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (20000, 20000))\n"
        "try:\n"
        "    while True: journal.append(1, bytes(3000))\n"
        "except JournalFull as error: print(error)\n"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", program, str(tmp_path / "j")],
        cwd=root,
        capture_output=True,
        text=True,
        check=True,
    )
    assert "the disk is full" in done.stdout
    entries, tail = read(tmp_path / "j")
    assert entries == [(1, bytes(3000))] * 6
    assert tail.state == "whole"


def test_a_disk_that_fails_otherwise_is_named(tmp_path: Path) -> None:
    class Failing(io.FileIO):
        failing = False

        def write(self, data: object) -> int:
            if Failing.failing:
                raise OSError(errno.EIO, "Input/output error")
            return super().write(data)  # type: ignore[arg-type]

    journal = Journal.create(tmp_path / "j", {}, open_raw=Failing)
    Failing.failing = True
    with pytest.raises(JournalError, match="Input/output error") as caught:
        journal.append(1, b"a")
    assert not isinstance(caught.value, JournalFull)
    journal.abandon()


def test_an_error_while_writing_leaves_the_journal_unclosed(tmp_path: Path) -> None:
    def fail() -> None:
        with Journal.create(tmp_path / "j", {}) as journal:
            journal.append(1, b"a")
            raise KeyError

    with pytest.raises(KeyError):
        fail()
    entries, tail = read(tmp_path / "j")
    assert (entries, tail.closed) == ([(1, b"a")], False)


def test_two_journals_cannot_begin_in_one_place(tmp_path: Path) -> None:
    write(tmp_path / "j")
    with pytest.raises(JournalError, match="a journal already"):
        Journal.create(tmp_path / "j", {})


@pytest.mark.parametrize("data", [b"", b"RIFF", b"\x89WMJ\r\n\x1a\n", bytes(200)])
def test_what_is_no_journal_is_refused(tmp_path: Path, data: bytes) -> None:
    (tmp_path / "j").write_bytes(data)
    with pytest.raises(JournalDamaged):
        read_journal(tmp_path / "j")


def test_a_missing_journal_is_named(tmp_path: Path) -> None:
    with pytest.raises(JournalError, match="cannot be read"):
        read_journal(tmp_path / "none")


def test_a_later_version_is_refused(tmp_path: Path) -> None:
    data = bytearray(write(tmp_path / "j", []))
    data[8] = 2
    head = bytes(data[: 24 + int.from_bytes(data[20:24], "little")])
    (tmp_path / "j").write_bytes(head + zlib.crc32(head).to_bytes(4, "little"))
    with pytest.raises(JournalError, match="journal version 2"):
        read_journal(tmp_path / "j")


@pytest.mark.parametrize("kind", [-1, 0xFFFF])
def test_a_kind_out_of_range_is_refused(tmp_path: Path, kind: int) -> None:
    with Journal.create(tmp_path / "j", {}) as journal, pytest.raises(ValueError, match="cannot be an entry"):
        journal.append(kind, b"")


def test_checksum_is_the_published_crc_32() -> None:
    """Outside check: the check value of CRC-32/ISO-HDLC for "123456789" (RocCrc catalogue), 0xCBF43926."""
    assert zlib.crc32(b"123456789") == 0xCBF43926


def test_numbers_go_on_after_reopening(tmp_path: Path) -> None:
    write(tmp_path / "j")
    seen: list[JournalEntry] = []
    journal, _ = Journal.open_and_read(tmp_path / "j", seen.append)
    assert [entry.sequence for entry in seen] == list(range(len(ENTRIES)))
    assert journal.next_sequence == len(ENTRIES) + 1  # the mark that it was closed has a number too
    journal.close()
