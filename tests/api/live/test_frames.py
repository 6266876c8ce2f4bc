"""Frames as they travel."""

from __future__ import annotations

import numpy as np
import pytest

from api.live.frames import FRAME_SAMPLES, frame_bytes, frame_from
from shared.errors import FrameDamaged


def test_a_frame_comes_out_as_it_went_in() -> None:
    samples = np.arange(-800, 800, dtype=np.int16)
    frame = frame_from(frame_bytes(70_000, samples))
    assert frame.number == 70_000
    assert frame.samples.dtype == np.int16
    assert (frame.samples == samples).all()


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"x" * 100,
        frame_bytes(0, np.zeros(FRAME_SAMPLES, np.int16))[:-1],
        b"\xff" * (8 + 2 * FRAME_SAMPLES),
    ],
)
def test_what_is_no_frame_is_refused(data: bytes) -> None:
    with pytest.raises(FrameDamaged):
        frame_from(data)
