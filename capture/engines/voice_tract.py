"""The length of the speaker's vocal tract: how far his formants lie from those the acoustic model knows.

A shorter vocal tract shifts all resonances up by about one factor; the front end shifts them back (vocal
tract length normalisation by a maximum-likelihood grid search: Lee and Rose, IEEE Trans. Speech and Audio
Processing 6 (1998) 49-60, from memory). Which factor is told by the sound of what was heard so far: the
words of each clear utterance are laid along its sound at every factor, and the factor that fits best over
the last minutes counts for the next utterance. Old utterances fade, so that a second speaker is followed.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from capture.engines.word_graph import WordGraph

#: Frequencies are divided by these; above one is a shorter tract. Development voices ask for
#: about 0.9 to 1.35.
FACTORS = (0.9, 1.0, 1.1, 1.2, 1.3)
_AS_TRAINED = FACTORS.index(1.0)
#: Mean gain a frame (nats) over the sound as it is that makes another factor count. Over 14
#: lines of development speech the woman's voice gained 0.04 to 0.07, men's that profit from none up to 0.014.
_WORTH_IT = 0.025
_LEAST_FRAMES = 300.0
#: What is known fades to half over so many frames (10 ms each) of newer speech.
_HALF_LIFE = 6000.0
#: Once so much is known, only every so many utterances is listened to for it.
_WELL_KNOWN = 3000.0
_EVERY = 4


class VoiceTract:
    """Learns one factor from what is heard; the same utterances in the same order give the same.

    Args:
        graph: of the decoder's own dictionary.
    """

    def __init__(self, graph: WordGraph) -> None:
        self._graph = graph
        self._gains = np.zeros(len(FACTORS))
        """Log likelihood over that of the sound as it is, nats, summed and faded."""
        self._frames = 0.0
        self._taken = 0

    @property
    def factor(self) -> float:
        """What the next utterance's frequencies are divided by."""
        return _factor(self._frames, self._gains)

    @property
    def memory(self) -> tuple[float, ...]:
        """All that is known, to be kept and given to :meth:`recall`."""
        return (float(self._taken), self._frames, *map(float, self._gains))

    def recall(self, memory: Sequence[float]) -> None:
        """Know again what was known when ``memory`` was taken; another shape of memory is left alone."""
        if len(memory) == 2 + len(FACTORS):
            self._taken, self._frames = int(memory[0]), float(memory[1])
            self._gains = np.array(memory[2:], dtype=np.float64)

    def learn(self, words: Sequence[str], samples: NDArray[np.int16]) -> None:
        """Take in one utterance.

        Args:
            words: as the dictionary spells them.
            samples: int16, mono, 16 kHz, as the decoder got them.
        """
        self._taken += 1
        if self._frames > _WELL_KNOWN and self._taken % _EVERY:
            return
        paths = self._graph.best([[word] for word in words], samples, FACTORS)
        if paths is None:
            return
        fits = np.array([path.log_likelihood for path in paths])
        frames = paths[0].frames
        fade = 0.5 ** (frames / _HALF_LIFE)
        self._gains = fade * self._gains + (fits - fits[_AS_TRAINED])
        self._frames = fade * self._frames + frames


def factor_known(memory: Sequence[float]) -> float:
    """Return the factor that counts by what was learnt, for whoever hears by it and learns nothing.

    Args:
        memory: begins with :attr:`VoiceTract.memory`; a shorter one tells nothing.
    """
    known = memory[: 2 + len(FACTORS)]
    whole = len(known) == 2 + len(FACTORS)
    return _factor(float(known[1]), np.array(known[2:])) if whole else FACTORS[_AS_TRAINED]


def _factor(frames: float, gains: NDArray[np.float64]) -> float:
    if frames < _LEAST_FRAMES:
        return FACTORS[_AS_TRAINED]
    best = int(np.argmax(gains))
    return FACTORS[best] if gains[best] > _WORTH_IT * frames else FACTORS[_AS_TRAINED]
