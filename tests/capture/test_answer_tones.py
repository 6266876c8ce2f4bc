"""The bench's tones are not masked, so they must not be taken for speech."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from capture.segments import cut_segments
from capture.sound import RATE_HZ

PAGE = Path(__file__).parents[2] / "api" / "web" / "static" / "voice_out.js"
TONE_S = 0.11


def _pairs() -> dict[str, tuple[int, int]]:
    line = re.search(r"const TONES = \{(.*)\};", PAGE.read_text("utf-8"))
    assert line
    return {name: (int(a), int(b)) for name, a, b in re.findall(r"(\w+): \[(\d+), (\d+)\]", line[1])}


def test_there_are_tones_to_try() -> None:
    assert set(_pairs()) == {"taken", "ask", "out"}


@pytest.mark.parametrize("which", ["taken", "ask", "out"])
@pytest.mark.parametrize("level", [0.02, 0.1, 0.3])
def test_a_pair_of_tones_makes_no_utterance(which: str, level: float) -> None:
    times = np.arange(round(TONE_S * RATE_HZ)) / RATE_HZ
    shape = np.minimum(1, np.minimum(times / 0.008, (times[-1] - times) / 0.012))
    pair = [np.sin(2 * np.pi * hz * times) * shape for hz in _pairs()[which]]
    still = np.zeros(RATE_HZ)
    sound = np.concatenate([still, pair[0], np.zeros(260), pair[1], still]) * level
    sound += np.random.default_rng(5).normal(0, 0.002, len(sound))
    assert list(cut_segments([(sound * 32767).astype(np.int16)])) == []
