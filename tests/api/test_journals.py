"""What is kept between runs: the sound and what was heard, cut at any byte and damaged on purpose."""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import pytest

from api.captured_sound import CapturedSound
from api.heard_journal import HeardJournal
from capture.journal import Journal
from capture.sound import RATE_HZ, read_sound
from shared.speech import Utterance, Word

RULES = "5" * 64
HEARD = [
    Utterance(
        "vane one eighteen",
        1.0,
        2.5,
        0.75,
        (Word("vane", 1.0, 1.5, 0.9),),
        "scripted",
        "a.wav",
        ("vein one",),
        0.25,
    ),
    None,
    Utterance("schön", 4.0, 5.0),
]


@pytest.fixture
def recording(tmp_path: Path) -> Path:
    """Four seconds of seeded noise."""
    path = tmp_path / "a.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, RATE_HZ, 0, "NONE", ""))
        file.writeframes(np.random.default_rng(1).integers(-900, 900, 4 * RATE_HZ, np.int16).tobytes())
    return path


def samples(captured: CapturedSound) -> bytes:
    return b"".join(block.tobytes() for block in captured)


def test_sound_passes_unchanged_and_comes_back_from_the_journal(recording: Path, tmp_path: Path) -> None:
    journal = tmp_path / "sound.journal"
    first = CapturedSound(read_sound(recording), journal)
    sound = samples(first)
    assert len(sound) == 4 * RATE_HZ * 2
    again = CapturedSound(read_sound(recording), journal)
    assert samples(again) == sound
    assert first.end == again.end
    assert first.end is not None
    assert (first.end.saved_s, first.end.cut) == (4.0, False)


def test_a_journal_cut_at_any_byte_gives_the_same_sound(recording: Path, tmp_path: Path) -> None:
    journal = tmp_path / "sound.journal"
    whole = CapturedSound(read_sound(recording), journal)
    sound, data = samples(whole), journal.read_bytes()
    for cut in [*range(0, 400, 7), *range(400, len(data), 9973), len(data) - 1]:
        journal.write_bytes(data[:cut])
        captured = CapturedSound(read_sound(recording), journal)
        assert samples(captured) == sound, cut
        assert captured.end == whole.end, cut


def test_a_damaged_journal_is_set_aside_and_the_sound_read_again(recording: Path, tmp_path: Path) -> None:
    journal = tmp_path / "sound.journal"
    sound = samples(CapturedSound(read_sound(recording), journal))
    data = bytearray(journal.read_bytes())
    data[len(data) // 2] ^= 0xFF
    journal.write_bytes(data)
    captured = CapturedSound(read_sound(recording), journal)
    assert captured.set_aside == tmp_path / "sound.journal.damaged"
    assert captured.set_aside.read_bytes() == bytes(data)
    assert samples(captured) == sound


def write_heard(path: Path, heard: list[Utterance | None] = HEARD) -> bytes:
    with HeardJournal(path, RULES) as journal:
        for utterance in heard:
            journal.append(utterance)
    return path.read_bytes()


def test_what_was_heard_comes_back_whole(tmp_path: Path) -> None:
    path = tmp_path / "heard.journal"
    write_heard(path)
    with HeardJournal(path, RULES) as journal:
        assert journal.heard == HEARD
        assert journal.complete
        assert journal.utterances() == (HEARD[0], HEARD[2])


def test_what_was_heard_survives_a_cut_at_every_byte(tmp_path: Path) -> None:
    path = tmp_path / "heard.journal"
    said = [Utterance("one", 0.0, 1.0), None]
    data = write_heard(path, said)
    for cut in range(len(data)):
        path.write_bytes(data[:cut])
        with HeardJournal(path, RULES) as journal:
            count = len(journal.heard)
            assert journal.heard == said[:count]
            assert not journal.complete
            for utterance in said[count:]:
                journal.append(utterance)
        with HeardJournal(path, RULES) as journal:
            assert journal.heard == said, cut


def test_what_the_engine_learnt_of_the_voice_comes_back_as_of_the_last_whole_segment(tmp_path: Path) -> None:
    path = tmp_path / "heard.journal"
    with HeardJournal(path, RULES) as journal:
        assert journal.memory == ()
        journal.append(HEARD[0], (1.0, 300.0, 0.1))
        journal.append(None, (2.0, 600.5, 1 / 3))
    data = path.read_bytes()
    with HeardJournal(path, RULES) as journal:
        assert journal.memory == (2.0, 600.5, 1 / 3)
    path.write_bytes(data[: data.rindex(b"600.5")])
    with HeardJournal(path, RULES) as journal:
        assert journal.memory == (1.0, 300.0, 0.1)


def test_damage_is_set_aside_and_never_read_as_words(tmp_path: Path) -> None:
    path = tmp_path / "heard.journal"
    data = bytearray(write_heard(path))
    data[data.index(b"eighteen")] ^= 1
    path.write_bytes(data)
    with HeardJournal(path, RULES) as journal:
        assert journal.heard == []
        assert journal.set_aside == tmp_path / "heard.journal.damaged"


def test_what_other_rules_kept_is_begun_anew_and_leaves_no_word_behind(tmp_path: Path) -> None:
    path = tmp_path / "heard.journal"
    write_heard(path)
    with HeardJournal(path, "6" * 64) as journal:
        assert (journal.heard, journal.begun_anew, journal.complete) == ([], True, False)
    assert [b"eighteen" in file.read_bytes() for file in tmp_path.iterdir()] == [False]


def test_the_journal_of_an_earlier_form_leaves_no_word_behind(tmp_path: Path) -> None:
    path = tmp_path / "heard.journal"
    with Journal.create(path, {"journal": "heard/1"}) as old:
        old.append(1, b'{"segment": 0, "utterance": {"text": "my wife called"}}')
    with HeardJournal(path, RULES) as journal:
        assert journal.begun_anew
    assert b"my wife" not in path.read_bytes()


def test_a_run_that_fails_leaves_the_journal_open(tmp_path: Path) -> None:
    path = tmp_path / "heard.journal"

    def fail() -> None:
        with HeardJournal(path, RULES) as journal:
            journal.append(HEARD[0])
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail()
    with HeardJournal(path, RULES) as journal:
        assert (journal.heard, journal.complete) == ([HEARD[0]], False)
        assert not journal.complete
