"""Whether the room is noisy, told by the last utterances together: one by one they are estimated too roughly.

The estimate of one short utterance without a pause in it is far too low: one voice's utterances in quiet come
out at 18 dB as well as at 42, in noise at 15 dB at 11 to 22. The median of the last seven parts them.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from statistics import median

_UTTERANCES = 7
#: Below this median the room is noisy. Development speech at 25 dB is mostly above it, and of 42 values heard
#: there and filed unasked none was misheard; at 15 dB 9 of 173 were (``extract/unsure_hearing.py``).
_NOISY_BELOW_DB = 18.0
#: Below this an utterance is noisy by itself, as when somebody grinds in a quiet room.
_CERTAINLY_BELOW_DB = 10.0


class RoomNoise:
    """Remembers how noisy the last utterances were; the same ones in the same order tell the same."""

    def __init__(self) -> None:
        self._levels: deque[float] = deque(maxlen=_UTTERANCES)

    def noisy(self, snr_db: float) -> bool:
        """Take in the next utterance's estimate; tell whether it is noisy.

        Args:
            snr_db: of :func:`capture.noise.estimate_snr_db`.
        """
        self._levels.append(snr_db)
        return snr_db < _CERTAINLY_BELOW_DB or median(self._levels) < _NOISY_BELOW_DB

    @property
    def memory(self) -> tuple[float, ...]:
        """All that is known, always of one length: how many estimates, then they."""
        unknown = (0.0,) * (_UTTERANCES - len(self._levels))
        return (float(len(self._levels)), *self._levels, *unknown)

    def recall(self, memory: Sequence[float]) -> Sequence[float]:
        """Know again what was known when ``memory`` was taken; return what stands behind it."""
        known, rest = memory[: 1 + _UTTERANCES], memory[1 + _UTTERANCES :]
        if len(known) == 1 + _UTTERANCES:
            self._levels = deque(known[1 : 1 + int(known[0])], maxlen=_UTTERANCES)
        return rest
