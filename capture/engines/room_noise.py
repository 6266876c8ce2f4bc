"""Whether the room is noisy, told by the last utterances together: one by one they are measured too roughly.

What is measured is how deep the quietest moment of an utterance lies below its loudest.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from statistics import median

_UTTERANCES = 7
#: Below this median the room is noisy. Development speech (a job each by two voices): at 15 dB of shop noise
#: the medians of seven lie below it, at 25 dB above it. Of 42 values heard at 25 dB and filed unasked none
#: was misheard; at 15 dB 9 of 173 were (``extract/unsure_hearing.py``).
_NOISY_BELOW_DB = 29.0
#: Below this an utterance is noisy by itself, as when somebody grinds in a quiet room.
_CERTAINLY_BELOW_DB = 20.0


class RoomNoise:
    """Remembers how noisy the last utterances were; the same ones in the same order tell the same."""

    def __init__(self) -> None:
        self._levels: deque[float] = deque(maxlen=_UTTERANCES)

    def noisy(self, depth_db: float) -> bool:
        """Take in the next utterance's depth; tell whether it is noisy.

        Args:
            depth_db: of :func:`capture.noise.depth_db`.
        """
        self._levels.append(depth_db)
        return depth_db < _CERTAINLY_BELOW_DB or median(self._levels) < _NOISY_BELOW_DB

    @property
    def memory(self) -> tuple[float, ...]:
        """All that is known, always of one length: how many depths, then they."""
        unknown = (0.0,) * (_UTTERANCES - len(self._levels))
        return (float(len(self._levels)), *self._levels, *unknown)

    def recall(self, memory: Sequence[float]) -> Sequence[float]:
        """Know again what was known when ``memory`` was taken; return what stands behind it."""
        known, rest = memory[: 1 + _UTTERANCES], memory[1 + _UTTERANCES :]
        if len(known) == 1 + _UTTERANCES:
            self._levels = deque(known[1 : 1 + int(known[0])], maxlen=_UTTERANCES)
        return rest
