"""What a phrase seems to say while the engine has not heard it; real speech, heard by the real decoder."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from capture.early_ear import EarlyEar
from capture.noise import StreamedSuppressor, suppress_noise
from capture.segments import SegmentCutter
from capture.sound import RATE_HZ
from capture.sound_blocks import Samples
from shared.job_sheet import load_job_sheet
from shared.settings import load_settings
from shared.speech import Utterance
from tests.recorded_sound import recorded_sound

RECORDING = Path(__file__).parents[2] / "fixtures" / "recordings" / "wash-water-end-suction.ogg"
SHEET = load_job_sheet("wash-water-end-suction")
#: "okay starting on …" to 4.908, "work order is five oh two seven" 5.808 to 7.786 (its times.json).
LENGTH_S = 8.6


@cache
def sound() -> Samples:
    return recorded_sound(RECORDING)[: round(LENGTH_S * RATE_HZ)]


def pieces(whole: Samples, size: int = 1600) -> Iterator[Samples]:
    for start in range(0, len(whole), size):
        yield whole[start : start + size]


def heard(ear: EarlyEar, whole: Samples) -> list[tuple[float, Utterance]]:
    """Each with the second of sound that was in when it was told."""
    told, in_s = [], 0.0
    for piece in pieces(whole):
        in_s += len(piece) / RATE_HZ
        utterance = ear.hear(piece)
        if utterance is not None:
            told.append((in_s, utterance))
    return told


def test_a_phrase_is_told_long_before_the_pause_that_ends_it() -> None:
    ear = EarlyEar(SHEET, load_settings().cache_dir, from_s=100.0)
    told = heard(ear, sound())
    assert [round(at_s - end_s, 1) <= 0.5 for (at_s, _), end_s in zip(told[-2:], (4.908, 7.786), strict=True)]
    in_s, last = told[-1]
    assert in_s - 7.786 < 0.5
    assert last.text == "work order is five oh two seven"
    assert last.start_s == pytest.approx(105.5, abs=0.3)
    assert last.job_score is None


def test_a_phrase_that_there_is_no_time_for_is_passed_over() -> None:
    ear = EarlyEar(SHEET, load_settings().cache_dir)
    told = []
    for piece in pieces(sound()[: round(5.4 * RATE_HZ)]):
        ear.pass_over()
        told.append(ear.hear(piece))
    assert not any(told[20:])  # the first blocks may begin a phrase after the order
    assert heard(ear, sound()[round(5.4 * RATE_HZ) :])


def test_the_running_utterance_is_the_one_that_is_cut_later() -> None:
    cutter, running, segments = SegmentCutter(), [], []
    for piece in pieces(sound()):
        segments += cutter.hear(piece)
        running.append(cutter.running)
    starts = [one.start / RATE_HZ for one in running if one is not None]
    assert {segment.start_s for segment in segments} <= set(starts)
    silences = [one.silence_s for one in running if one is not None]
    assert max(silences) < 0.6
    assert any(later > earlier > 0 for earlier, later in pairwise(silences))


def test_sound_suppressed_piece_by_piece_is_that_suppressed_whole() -> None:
    noise = np.random.default_rng(3).normal(0, 300, len(sound()))
    noisy = np.clip(sound() + noise, -32768, 32767).astype(np.int16)
    suppressor = StreamedSuppressor()
    streamed = np.concatenate([suppressor.hear(piece) for piece in pieces(noisy)]).astype(float)
    whole = suppress_noise(noisy).astype(float)
    lag = 320  # two frames of 10 ms
    count = len(streamed) - lag
    difference = streamed[lag:] - whole[:count]
    assert np.sqrt(np.mean(difference**2)) < 0.05 * np.sqrt(np.mean(whole[:count] ** 2))
