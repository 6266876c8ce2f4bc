"""Listening: what is heard depends on the sound and on what is kept of the voice, on nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import islice
from pathlib import Path

import pytest

from api.listening import listen
from api.progress import progress_on
from api.work_folder import WorkFolder
from capture.engines import open_engine
from capture.engines.engine import SegmentEngine
from capture.segments import Segment, cut_segments
from capture.sound import read_sound
from extract.record_builder import RecordBuilder
from shared.errors import EngineFailed
from shared.job_sheet import load_job_sheet

RECORDING = Path(__file__).parents[2] / "fixtures" / "recordings" / "wash-water-end-suction.ogg"


@pytest.mark.long
def test_the_real_engine_hears_an_utterance_the_same_whatever_came_before() -> None:
    """Else work taken up after a crash would end with another record than work that was not interrupted."""
    first, second, third = islice(cut_segments(read_sound(RECORDING)), 3)
    engine = open_engine("pocketsphinx", load_job_sheet("wash-water-end-suction"))
    engine.hear(first)
    known = engine.memory
    assert known
    heard, after = engine.hear(second), engine.memory
    assert heard is not None
    for before in (first, third, second):
        engine.hear(before)
        engine.recall(known)
        assert engine.hear(second) == heard
        assert engine.memory == after


class Learning(SegmentEngine):
    """Hears nothing and counts the segments; gives up at one of them."""

    name, model, reason, identity = "learning", "none", "a test", "learning"

    def __init__(self, fails_at: int | None = None) -> None:
        self.count = 0.0
        self.first_of_all: int | None = None
        self._fails_at = fails_at

    @property
    def memory(self) -> tuple[float, ...]:
        return (self.count,)

    def recall(self, memory: Sequence[float]) -> None:
        if memory:
            (self.count,) = memory

    def hear(self, segment: Segment) -> None:
        if segment.number == self._fails_at:
            raise EngineFailed("no more", remedy="none")
        if self.first_of_all is None:
            self.first_of_all = segment.number
        self.count += 1


@pytest.mark.long
def test_an_engine_that_takes_the_work_up_knows_the_voice_again(tmp_path: Path) -> None:
    sheet = load_job_sheet("wash-water-end-suction")

    def heard_by(engine: Learning) -> None:
        with progress_on(total_s=None, quiet=True) as progress:
            listen(
                read_sound(RECORDING),
                engine,
                WorkFolder(tmp_path, taken_up=True),
                progress,
                reader=RecordBuilder(sheet),
                rules="the same",
                tell=lambda _: None,
            )

    with pytest.raises(EngineFailed):
        heard_by(Learning(fails_at=4))
    engine = Learning()
    heard_by(engine)
    assert engine.first_of_all == 4
    assert engine.count == sum(1 for _ in cut_segments(read_sound(RECORDING)))
