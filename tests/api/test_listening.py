"""Listening: what an engine hears in an utterance must not depend on what it heard before."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

from capture.engines import open_engine
from capture.segments import cut_segments
from capture.sound import read_sound
from shared.job_sheet import load_job_sheet

RECORDING = Path(__file__).parents[2] / "fixtures" / "recordings" / "wash-water-end-suction.ogg"


def test_the_real_engine_hears_an_utterance_the_same_whatever_came_before() -> None:
    """Else work taken up after a crash would end with another record than work that was not interrupted."""
    first, second, third = islice(cut_segments(read_sound(RECORDING)), 3)
    engine = open_engine("pocketsphinx", load_job_sheet("wash-water-end-suction"))
    fresh = engine.hear(second)
    assert fresh is not None
    for before in (first, third, second):
        engine.hear(before)
        assert engine.hear(second) == fresh
