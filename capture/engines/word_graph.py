"""Words laid along a sound by the sound alone: a tiny graph of what may stand where, no language model.

The boundary to the library's finite-state search. One decoder serves everybody who asks such a question.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from capture.engines.sphinx_decoder import FRONT_END, hear_whole, log_likelihood_of

#: The graph is tiny, so nothing needs to be dropped early.
_SEARCH: dict[str, Any] = {"beam": 1e-60, "wbeam": 1e-50, "pbeam": 1e-60}
_NAME = "words"


@dataclass(frozen=True, slots=True)
class BestPath:
    """The best way through a graph."""

    words: tuple[str, ...]
    log_likelihood: float
    """Nats."""
    frames: int
    """Of 10 ms."""


class WordGraph:
    """Finds the words that fit a sound best, each place having a choice of its own.

    Args:
        acoustic_model: folder of the model.
        dictionary: with a pronunciation of every word that may be asked about.
    """

    def __init__(self, acoustic_model: Path, dictionary: Path) -> None:
        import pocketsphinx

        self._decoder = pocketsphinx.Decoder(
            hmm=str(acoustic_model), dict=str(dictionary), lm=None, **FRONT_END, **_SEARCH
        )

    def can_say(self, word: str) -> bool:
        """Whether the dictionary has the word."""
        return self.pronunciation(word) is not None

    def pronunciation(self, word: str) -> str | None:
        """Return the word's first pronunciation, phones parted by spaces; None where it has none."""
        found: str | None = self._decoder.lookup_word(word)
        return found

    def add(self, word: str, phones: str) -> None:
        """Add a word that the dictionary does not have."""
        self._decoder.add_word(word, phones, update=False)

    def best(
        self, choices: Sequence[Sequence[str]], samples: NDArray[np.int16], tract_factors: Sequence[float]
    ) -> list[BestPath] | None:
        """Return the best path at each factor; None where the words do not fit from end to end at one.

        Args:
            choices: the words that may stand at each place, all equally likely.
            samples: int16, mono, 16 kHz.
            tract_factors: of the speaker; see :mod:`capture.engines.voice_tract`.
        """
        places = zip(pairwise(range(len(choices) + 1)), choices, strict=True)
        arcs = [(at, to, 1.0 / len(words), word) for (at, to), words in places for word in words]
        try:
            self._decoder.add_fsg(_NAME, self._decoder.create_fsg(_NAME, 0, len(choices), arcs))
            self._decoder.activate_search(_NAME)
            paths = [self._path(samples, factor) for factor in tract_factors]
        except (RuntimeError, ValueError):  # the words do not fit the sound from end to end
            return None
        found = [path for path in paths if path is not None and len(path.words) == len(choices)]
        return found if len(found) == len(tract_factors) else None

    def _path(self, samples: NDArray[np.int16], factor: float) -> BestPath | None:
        hear_whole(self._decoder, samples, factor)
        likelihood = log_likelihood_of(self._decoder)
        if likelihood is None:
            return None
        words = (seg.word.partition("(")[0] for seg in self._decoder.seg() if seg.word[0] not in "<[(")
        return BestPath(tuple(words), likelihood, int(self._decoder.n_frames()))
