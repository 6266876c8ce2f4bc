"""What a network makes up is dropped; what a mechanic really says over and over is kept."""

from __future__ import annotations

import numpy as np
import pytest

from capture.engines.rejectors import is_loop, is_made_up, is_only_hotwords, is_silent, is_too_fast, words_of
from tests.capture.engine_sound import noise, spoken

VANES = " ".join(f"vane {n} eighteen thou," for n in ("one", "two", "three", "four", "five"))


@pytest.mark.parametrize(
    "text",
    [
        "and then and then and then",
        "go go go go",
        "I'm going to put it down. " * 3,
        "so the seal the seal the seal the seal",
        "eighteen " * 16,
        "0.018, " * 20,
        "vane one " * 16,
    ],
)
def test_a_loop_is_told(text: str) -> None:
    assert is_loop(words_of(text))


@pytest.mark.parametrize(
    "text",
    [
        VANES,
        "eighteen, eighteen, eighteen, eighteen, eighteen",
        "ten bolts " + "ninety " * 10,
        "0.018 0.018 0.018 0.018 0.018",
        "one oh one oh one",
        "no no no that was nineteen",
        "it's good it's good",
        "",
    ],
)
def test_what_people_do_say_again_is_no_loop(text: str) -> None:
    assert not is_loop(words_of(text))


@pytest.mark.parametrize("text", ["Thank you.", "Thanks for watching!", " you", "Bye-bye.", "[Music]"])
def test_a_phrase_of_broadcasts_alone_is_made_up(text: str) -> None:
    assert is_made_up(words_of(text))


@pytest.mark.parametrize("text", ["thank you for the shim", "you put in a new seal", "music to my ears"])
def test_the_same_words_in_a_sentence_are_not(text: str) -> None:
    assert not is_made_up(words_of(text))


@pytest.mark.parametrize(("level", "silent"), [(0.0, True), (30.0, True), (120.0, False), (3000.0, False)])
def test_silence_is_told_by_its_level(level: float, silent: bool) -> None:
    assert is_silent(noise(level)) is silent


def test_one_short_word_in_long_silence_is_not_silent() -> None:
    short = spoken()[16000:24000]
    assert not is_silent(np.concatenate([np.zeros(80000, np.int16), short, np.zeros(80000, np.int16)]))
    assert is_silent(np.zeros(0, np.int16))


def test_more_words_than_anyone_says_in_the_time() -> None:
    assert is_too_fast(["word"] * 20, 2.0)
    assert not is_too_fast(["word"] * 12, 2.0)
    assert not is_too_fast(["ten"] * 2, 0.1)


@pytest.mark.parametrize(
    ("text", "snr_db", "confidence", "dropped"),
    [
        ("Shim pack, lip seals.", 3.0, 0.95, True),
        ("Shim pack, lip seals.", 25.0, 0.3, True),
        ("Shim pack, lip seals.", 25.0, 0.95, False),
        ("shim pack forty two", 3.0, 0.3, False),
        ("", 3.0, 0.3, False),
    ],
)
def test_hotwords_alone_prove_nothing_in_weak_sound(
    text: str, snr_db: float, confidence: float, dropped: bool
) -> None:
    hotwords = "shim pack, lip seals, wear plate"
    assert is_only_hotwords(words_of(text), hotwords, snr_db=snr_db, confidence=confidence) is dropped
