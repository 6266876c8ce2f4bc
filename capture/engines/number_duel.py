"""A second, narrow pass over numbers: the sound alone decides between those that could stand there.

The first pass weighs sound against what people usually say, and usual numbers win: "a hundred and four
for that one" comes out as five, with a posterior near one. Here every other word stays as it was heard,
each number word competes with all of its kind on equal terms, and no language model helps. Where
another one wins, both are put to the technician. On development speech (14 jobs, three voices, clean) it
found both readings whose number word was heard wrongly and sure, and doubted two right ones.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from capture.engines.word_graph import WordGraph

_DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS_AND_TENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
)  # fmt: skip
#: Which words compete with which.
_RIVALS = {word: kind for kind in (_DIGITS, _TEENS_AND_TENS) for word in kind}


class NumberDuel:
    """Lets number words compete by their sound.

    Args:
        graph: of the decoder's own dictionary; one made by hand may lack some number words.
    """

    def __init__(self, graph: WordGraph) -> None:
        self._graph = graph
        self._sayable = {word for word in _RIVALS if graph.can_say(word)}

    def winner(
        self, words: Sequence[str], samples: NDArray[np.int16], tract_factor: float = 1.0
    ) -> list[str] | None:
        """Return the words with the number words that sound best; None where none competes or fits.

        Args:
            words: as the first pass heard them.
            samples: int16, mono, 16 kHz, as the first pass got them.
            tract_factor: as the first pass heard them.
        """
        if self._sayable.isdisjoint(words):
            return None
        paths = self._graph.best([self._rivals(word) for word in words], samples, [tract_factor])
        return list(paths[0].words) if paths else None

    def _rivals(self, word: str) -> list[str]:
        return [rival for rival in _RIVALS.get(word, ()) if rival in self._sayable] or [word]
