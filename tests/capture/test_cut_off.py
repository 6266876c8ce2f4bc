"""Speech that dead silence cut off is told from speech that it only stands beside."""

from __future__ import annotations

import json

import numpy as np
import pytest

from capture.cut_off import cut_off_by_silence, doubted_where_cut_off
from capture.sound import RATE_HZ
from capture.sound_blocks import Samples
from shared.speech import Utterance
from tests.api.processing import RECORDING
from tests.recorded_sound import recorded_sound

TIMES = json.loads(RECORDING.with_suffix(".times.json").read_text("utf-8"))["utterances"]


@pytest.fixture(scope="module")
def sound() -> Samples:
    return recorded_sound(RECORDING)


def _stretch(sound: Samples, start_s: float, end_s: float) -> Samples:
    return sound[round(start_s * RATE_HZ) : round(end_s * RATE_HZ)].copy()


@pytest.mark.parametrize("number", range(0, 69, 3))
def test_untouched_speech_is_whole(sound: Samples, number: int) -> None:
    said = TIMES[number]
    assert not cut_off_by_silence(_stretch(sound, said["start_s"] - 0.3, said["end_s"] + 0.25))


@pytest.mark.parametrize("number", range(1, 69, 3))
def test_silence_up_to_a_pause_before_the_first_word_takes_nothing(sound: Samples, number: int) -> None:
    said = TIMES[number]
    utterance = _stretch(sound, said["start_s"] - 0.3, said["end_s"] + 0.25)
    utterance[: round(0.2 * RATE_HZ)] = 0
    assert not cut_off_by_silence(utterance)


@pytest.mark.parametrize("number", range(2, 69, 3))
@pytest.mark.parametrize("hidden_s", [0.25, 0.5])
def test_the_beginning_of_an_utterance_that_was_masked_is_missed(
    sound: Samples, number: int, hidden_s: float
) -> None:
    said = TIMES[number]
    utterance = _stretch(sound, said["start_s"] - 0.3, said["end_s"] + 0.25)
    # To the loudest moment nearby: within a word, wherever the words of this voice begin.
    from_ = round((0.3 + hidden_s) * RATE_HZ)
    loudest = from_ + int(np.abs(utterance[from_ : from_ + 6400].astype(int)).argmax())
    utterance[:loudest] = 0
    assert cut_off_by_silence(utterance)


def test_a_dropout_of_the_driver_hides_no_syllable(sound: Samples) -> None:
    utterance = _stretch(sound, TIMES[46]["start_s"], TIMES[46]["end_s"])
    utterance[20000:20200] = 0
    assert not cut_off_by_silence(utterance)


@pytest.mark.parametrize("length", [0, 10, 5000])
def test_nothing_at_all_is_not_cut_off(length: int) -> None:
    assert not cut_off_by_silence(np.zeros(length, np.int16))


def test_what_was_cut_off_is_asked_about_and_the_rest_stays_as_it_is(sound: Samples) -> None:
    said = TIMES[46]
    whole = _stretch(sound, said["start_s"] - 0.3, said["end_s"] + 0.25)
    cut = whole.copy()
    cut[: 3 * RATE_HZ // 2] = 0
    utterance = Utterance("two is eighteen", 0.0, 2.0, alternatives=("to is eighteen",))
    assert doubted_where_cut_off(utterance, whole) is utterance
    assert doubted_where_cut_off(utterance, cut).alternatives == ("to is eighteen", "")
