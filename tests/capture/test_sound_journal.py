"""Captured sound in the journal comes back to the bit, with what was lost as silence."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from capture import sound_journal
from capture.journal import Journal, JournalEntry, read_journal
from capture.sound_journal import SoundJournal, SoundMark, read_sound_journal
from shared.errors import JournalDamaged

RANDOM = np.random.default_rng(4)
BLOCKS = [RANDOM.integers(-32768, 32767, count).astype(np.int16) for count in (8000, 8000, 1, 512, 8000)]


def write(path: Path, blocks: list[np.ndarray] = BLOCKS) -> None:
    with SoundJournal.create(path, {"recording": "a.wav"}) as journal:
        for block in blocks:
            journal.append(block)


def test_blocks_come_back_identical(tmp_path: Path) -> None:
    write(tmp_path / "s")
    reader = read_sound_journal(tmp_path / "s")
    for written, back in zip(BLOCKS, reader, strict=True):
        np.testing.assert_array_equal(written, back)
    assert (reader.tail.state, reader.tail.closed, reader.lost) == ("whole", True, [])
    assert reader.meta["recording"] == "a.wav"


def test_marks_keep_their_moment_and_details(tmp_path: Path) -> None:
    with SoundJournal.create(tmp_path / "s") as journal:
        journal.append(BLOCKS[0])
        journal.mark("microphone_lost", why="unplugged")
        journal.append(BLOCKS[1], at_sample=24000)
        journal.mark("cut", at_sample=20000)
    reader = read_sound_journal(tmp_path / "s")
    sound = np.concatenate(list(reader))
    assert reader.marks == [SoundMark("microphone_lost", 8000, {"why": "unplugged"}), SoundMark("cut", 20000)]
    assert reader.marks[0].at_s == 0.5
    np.testing.assert_array_equal(sound[24000:], BLOCKS[1])
    assert not sound[8000:24000].any()
    assert [(lost.start_s, lost.end_s) for lost in reader.lost] == [(0.5, 1.5)]


def test_capture_cut_at_any_byte_resumes_and_gives_the_same_sound(tmp_path: Path) -> None:
    path = tmp_path / "s"
    small = [block[:40] for block in BLOCKS]
    write(path, small)
    data = path.read_bytes()
    whole = np.concatenate(small)
    for cut in range(next(iter(read_journal(path))).at_byte, len(data), 3):
        path.write_bytes(data[:cut])
        with SoundJournal.open(path) as journal:
            journal.append(whole[journal.resume_at_sample :])
        reader = read_sound_journal(path)
        np.testing.assert_array_equal(np.concatenate(list(reader)), whole)
        assert (reader.tail.state, reader.lost) == ("whole", [])


def test_a_damaged_block_is_silence_and_the_rest_goes_on(tmp_path: Path) -> None:
    path = tmp_path / "s"
    write(path)
    data = bytearray(path.read_bytes())
    data[20000] ^= 1
    path.write_bytes(data)
    reader = read_sound_journal(path)
    sound = np.concatenate(list(reader))
    expected = np.concatenate(BLOCKS)
    expected[8000:16000] = 0
    np.testing.assert_array_equal(sound, expected)
    assert [(lost.start_s, lost.end_s) for lost in reader.lost] == [(0.5, 1.0)]
    assert (reader.tail.state, reader.tail.lost_entries) == ("damaged", 1)


def test_damaged_last_blocks_are_captured_again(tmp_path: Path) -> None:
    path = tmp_path / "s"
    journal = SoundJournal.create(path)
    for block in BLOCKS:
        journal.append(block)
    journal.abandon()
    data = bytearray(path.read_bytes())
    data[-3] ^= 1
    path.write_bytes(data)
    whole = np.concatenate(BLOCKS)
    with SoundJournal.open(path) as journal:
        assert journal.resume_at_sample == len(whole) - 8000
        assert journal.recovered is not None
        assert journal.recovered.state == "damaged"
        journal.append(whole[journal.resume_at_sample :])
    reader = read_sound_journal(path)
    np.testing.assert_array_equal(np.concatenate(list(reader)), whole)
    assert reader.tail.state == "damaged"


@pytest.mark.parametrize(("start_s", "end_s"), [(0.0, 0.25), (0.4, 1.2), (1.3, 9.0), (5.0, 6.0), (0.3, 0.3)])
def test_a_stretch_is_cut_out_by_its_times(tmp_path: Path, start_s: float, end_s: float) -> None:
    write(tmp_path / "s")
    expected = np.concatenate(BLOCKS)[round(start_s * 16000) : round(end_s * 16000)]
    np.testing.assert_array_equal(read_sound_journal(tmp_path / "s").between(start_s, end_s), expected)


def test_a_stretch_over_lost_sound_is_silent_there(tmp_path: Path) -> None:
    with SoundJournal.create(tmp_path / "s") as journal:
        journal.append(BLOCKS[0])
        journal.append(BLOCKS[1], at_sample=10000)
    reader = read_sound_journal(tmp_path / "s")
    expected = np.concatenate([BLOCKS[0], np.zeros(2000, np.int16), BLOCKS[1]])
    for start, end in ((0, 18000), (7990, 10010), (8500, 9000), (9999, 10001), (17000, 30000)):
        np.testing.assert_array_equal(reader.between(start / 16000, end / 16000), expected[start:end])


@pytest.fixture(scope="module")
def hour(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, np.ndarray]:
    """A journal of many blocks of a tenth of a second as a bench writes them, marks among them; its sound."""
    path = tmp_path_factory.mktemp("hour") / "s"
    sound = np.arange(16000 * 600, dtype=np.int64).astype(np.int16)
    with SoundJournal.create(path, sync_every_s=3600) as journal:
        for at in range(0, len(sound), 1600):
            journal.append(sound[at : at + 1600])
            if at % 160_000 == 0:
                journal.mark("press", key="x" * (at // 8000))
    return path, sound


@pytest.mark.parametrize("start_s", [0, 0.05, 17.3, 299.95, 598.2, 599.9, 600, 700])
def test_a_stretch_of_a_long_journal_is_the_same_wherever_it_lies(
    hour: tuple[Path, np.ndarray], start_s: float
) -> None:
    path, sound = hour
    first, last = round(start_s * 16000), round((start_s + 1.7) * 16000)
    np.testing.assert_array_equal(read_sound_journal(path).between(start_s, start_s + 1.7), sound[first:last])


@pytest.mark.parametrize("start_s", [5, 301.0, 597])
def test_a_stretch_is_found_without_reading_what_lies_before(
    hour: tuple[Path, np.ndarray], start_s: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, sound = hour
    read: list[int] = []
    span = sound_journal._span

    def counted(entry: JournalEntry) -> tuple[int, int]:
        read.append(entry.at_byte)
        return span(entry)

    monkeypatch.setattr(sound_journal, "_span", counted)
    found = read_sound_journal(path).between(start_s, start_s + 1)
    np.testing.assert_array_equal(found, sound[round(start_s * 16000) : round((start_s + 1) * 16000)])
    # Of 6000 blocks: ten of the second, a few halvings, and what lies near.
    assert len(read) < 120


def test_a_stretch_of_a_damaged_journal_is_what_reading_all_of_it_gives(
    hour: tuple[Path, np.ndarray], tmp_path: Path
) -> None:
    data = bytearray(hour[0].read_bytes())
    path = tmp_path / "s"
    for at in RANDOM.integers(200, len(data), 40):
        data[at] ^= 0x55
    # A stretch of nothing, as a disk leaves it; the end torn off in the middle of a block.
    data[3_000_000:3_400_000] = bytes(400_000)
    path.write_bytes(data[:-4000])
    reader = read_sound_journal(path)
    whole = np.concatenate(list(reader))
    assert reader.tail.state == "damaged"
    assert reader.lost
    for start in (*RANDOM.integers(0, len(whole), 60), len(whole) - 9000, 1_480_000, 1_690_000):
        found = read_sound_journal(path).between(start / 16000, start / 16000 + 2)
        np.testing.assert_array_equal(found, whole[start : start + 32000])


def test_a_block_that_the_disk_kept_twice_is_not_taken_for_another_place(tmp_path: Path) -> None:
    path = tmp_path / "s"
    with SoundJournal.create(path) as journal:
        for block in BLOCKS * 20:
            journal.append(block)
    data, entries = path.read_bytes(), list(read_journal(path))
    first = data[entries[0].at_byte : entries[40].at_byte]
    # An old stretch stands again behind the end; its numbers tell.
    path.write_bytes(data + first)
    whole = np.concatenate(list(read_sound_journal(path)))
    np.testing.assert_array_equal(whole, np.concatenate(BLOCKS * 20))
    for start in range(0, len(whole), 31_111):
        found = read_sound_journal(path).between(start / 16000, start / 16000 + 1)
        np.testing.assert_array_equal(found, whole[start : start + 16000])


def test_sound_cannot_be_written_over(tmp_path: Path) -> None:
    with SoundJournal.create(tmp_path / "s") as journal:
        journal.append(BLOCKS[0])
        with pytest.raises(ValueError, match="goes on at 8000"):
            journal.append(BLOCKS[1], at_sample=7999)


def test_a_journal_of_something_else_is_refused(tmp_path: Path) -> None:
    Journal.create(tmp_path / "j", {"journal": "words/1"}).close()
    for opened in (read_sound_journal, SoundJournal.open):
        with pytest.raises(JournalDamaged, match="holds no sound"):
            opened(tmp_path / "j")


@pytest.mark.parametrize(("sync_every_s", "syncs"), [(0.5, 6), (1.0, 3), (60.0, 0)])
def test_sound_is_made_safe_every_so_many_seconds(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sync_every_s: float, syncs: int
) -> None:
    journal = SoundJournal.create(tmp_path / "s", sync_every_s=sync_every_s)
    calls: list[int] = []
    monkeypatch.setattr(os, "fsync", calls.append)
    for _ in range(6):
        journal.append(np.zeros(8000, np.int16))
    assert len(calls) == syncs
    monkeypatch.undo()
    journal.close()


@pytest.mark.skipif(sys.platform == "win32", reason="needs kill -9")
def test_kill_9_while_capturing_loses_nothing_that_was_appended(tmp_path: Path) -> None:
    program = (
        "import os, sys, numpy as np\n"
        "from capture.sound_journal import SoundJournal\n"
        "journal = SoundJournal.create(sys.argv[1])\n"
        "for number in range(7): journal.append(np.full(8000, number, np.int16))\n"
        "os.kill(os.getpid(), 9)\n"
    )
    root = Path(__file__).parents[2]
    done = subprocess.run([sys.executable, "-c", program, str(tmp_path / "s")], cwd=root, check=False)
    assert done.returncode == -signal.SIGKILL
    with SoundJournal.open(tmp_path / "s") as journal:
        assert journal.resume_at_sample == 7 * 8000
        assert journal.recovered is not None
        assert not journal.recovered.closed
