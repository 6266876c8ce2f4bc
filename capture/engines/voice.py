"""How somebody talks, learnt while he talks: the length of his vocal tract and his accent."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from capture.engines.accent import Accent
from capture.engines.voice_tract import VoiceTract
from capture.engines.word_graph import WordGraph
from capture.vocabulary.accents import Shift


class Voice:
    """What has been learnt of whoever talks; the same utterances in the same order teach the same.

    Args:
        graph: of a dictionary without an accent.
    """

    def __init__(self, graph: WordGraph) -> None:
        self._tract, self._accent = VoiceTract(graph), Accent(graph)

    @property
    def factor(self) -> float:
        """What the next utterance's frequencies are divided by."""
        return self._tract.factor

    @property
    def shifts(self) -> tuple[Shift, ...]:
        """The phones that are said otherwise, in a fixed order."""
        return self._accent.shifts

    @property
    def memory(self) -> tuple[float, ...]:
        """All that is known, to be kept and given to :meth:`recall`."""
        return (*self._tract.memory, *self._accent.memory)

    def recall(self, memory: Sequence[float]) -> None:
        """Know again what was known when ``memory`` was taken; another shape of memory is left alone."""
        tract = len(self._tract.memory)
        self._tract.recall(memory[:tract])
        self._accent.recall(memory[tract:])

    def learn(self, words: Sequence[str], samples: NDArray[np.int16]) -> None:
        """Take in one utterance.

        Args:
            words: as the dictionary spells them.
            samples: int16, mono, 16 kHz, as the decoder got them.
        """
        factor = self.factor  # as the words were heard
        self._tract.learn(words, samples)
        self._accent.learn(words, samples, factor)
