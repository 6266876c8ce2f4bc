"""Sound in blocks: the one sample rate, and regrouping."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

#: Every room works on mono int16 at this rate.
RATE_HZ = 16000
#: Samples in a block: half a second.
BLOCK_SAMPLES = 8000

Samples = NDArray[np.int16]


def regroup(pieces: Iterable[Samples], block_samples: int = BLOCK_SAMPLES) -> Iterator[Samples]:
    """Yield blocks of ``block_samples`` out of pieces of any length; the last may be shorter."""
    waiting: list[Samples] = []
    count = 0
    for piece in pieces:
        waiting.append(piece)
        count += len(piece)
        if count < block_samples:
            continue
        joined = np.concatenate(waiting)
        whole = count - count % block_samples
        for start in range(0, whole, block_samples):
            yield joined[start : start + block_samples]
        waiting = [joined[whole:]]
        count -= whole
    if count:
        yield np.concatenate(waiting)
