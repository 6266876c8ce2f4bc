"""A second, narrow pass over numbers: the sound alone decides between those that could stand there.

The first pass weighs sound against what people usually say, and usual numbers win: "a hundred and four
for that one" comes out as five, with a posterior near one. Here every other word stays as it was heard,
each number word competes with all of its kind on equal terms, and no language model helps. Where
another one wins, both are put to the technician. On development speech (14 jobs, three voices, clean) it
found both readings whose number word was heard wrongly and sure, and doubted two right ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from capture.engines.sphinx_decoder import hear_whole

_DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS_AND_TENS = (
    "ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety",
)  # fmt: skip
#: Which words compete with which.
_RIVALS = {word: kind for kind in (_DIGITS, _TEENS_AND_TENS) for word in kind}
#: The graph is tiny, so nothing needs to be dropped early.
_SEARCH: dict[str, Any] = {"beam": 1e-60, "wbeam": 1e-50, "pbeam": 1e-60}
_NAME = "duel"


class NumberDuel:
    """Lets number words compete by their sound.

    Args:
        acoustic_model: folder of the model.
        dictionary: with a pronunciation for every word that the first pass can hear.
        front_end: options of the decoder whose sound is judged.
    """

    def __init__(self, acoustic_model: Path, dictionary: Path, front_end: dict[str, Any]) -> None:
        import pocketsphinx

        self._decoder = pocketsphinx.Decoder(
            hmm=str(acoustic_model), dict=str(dictionary), lm=None, **front_end, **_SEARCH
        )
        self._sayable = {
            word for word in _RIVALS if self._decoder.lookup_word(word) is not None
        }  # a dictionary made by hand may lack some

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
        try:
            graph = self._decoder.create_fsg(_NAME, 0, len(words), list(self._arcs(words)))
            self._decoder.add_fsg(_NAME, graph)
            self._decoder.activate_search(_NAME)
            hear_whole(self._decoder, samples, tract_factor)
            if self._decoder.hyp() is None:
                return None
            found = [seg.word.partition("(")[0] for seg in self._decoder.seg() if seg.word[0] not in "<[("]
        except (RuntimeError, ValueError):  # the words do not fit the sound from end to end
            return None
        return found if len(found) == len(words) else None

    def _arcs(self, words: Sequence[str]) -> Any:
        for (at, to), word in zip(pairwise(range(len(words) + 1)), words, strict=True):
            rivals = [rival for rival in _RIVALS.get(word, ()) if rival in self._sayable] or [word]
            for rival in rivals:
                yield at, to, 1.0 / len(rivals), rival
