"""The length of the speaker's vocal tract: how far his formants lie from those the acoustic model knows.

A shorter vocal tract shifts all resonances up by about one factor; the front end shifts them back (vocal
tract length normalisation by a maximum-likelihood grid search: Lee and Rose, IEEE Trans. Speech and Audio
Processing 6 (1998) 49-60, from memory). Which factor is told by the sound of what was heard so far: the
words of each clear utterance are laid along its sound at every factor, and the factor that fits best over
the last minutes counts for the next utterance. Old utterances fade, so that a second speaker is followed.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from capture.engines.sphinx_decoder import FRONT_END, hear_whole, log_likelihood_of

#: Frequencies are divided by these; above one is a shorter tract. Measured ones lie within 0.8 to 1.3.
FACTORS = (0.9, 1.0, 1.1, 1.2, 1.3)
_AS_TRAINED = FACTORS.index(1.0)
#: Mean gain a frame (nats) over the sound as it is that makes another factor count. On development speech
#: a voice that profits gains 0.04 and more within three utterances, one that does not stays below 0.02.
_WORTH_IT = 0.025
_LEAST_FRAMES = 300.0
#: What is known fades to half over so many frames (10 ms each) of newer speech.
_HALF_LIFE = 6000.0
#: Once so much is known, only every so many utterances is listened to for it.
_WELL_KNOWN = 3000.0
_EVERY = 4
_SEARCH: dict[str, Any] = {"beam": 1e-60, "wbeam": 1e-50, "pbeam": 1e-60}
_NAME = "along"


class VoiceTract:
    """Learns one factor from what is heard; the same utterances in the same order give the same.

    Args:
        acoustic_model: folder of the model.
        dictionary: with a pronunciation of every word that can be heard.
    """

    def __init__(self, acoustic_model: Path, dictionary: Path) -> None:
        import pocketsphinx

        self._decoder = pocketsphinx.Decoder(
            hmm=str(acoustic_model), dict=str(dictionary), lm=None, **FRONT_END, **_SEARCH
        )
        self._gains = np.zeros(len(FACTORS))
        """Log likelihood over that of the sound as it is, nats, summed and faded."""
        self._frames = 0.0
        self._taken = 0

    @property
    def factor(self) -> float:
        """What the next utterance's frequencies are divided by."""
        if self._frames < _LEAST_FRAMES:
            return FACTORS[_AS_TRAINED]
        best = int(np.argmax(self._gains))
        worth_it = self._gains[best] > _WORTH_IT * self._frames
        return FACTORS[best] if worth_it else FACTORS[_AS_TRAINED]

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
        fits = self._fits(words, samples)
        if fits is None:
            return
        frames = int(self._decoder.n_frames())
        fade = 0.5 ** (frames / _HALF_LIFE)
        self._gains = fade * self._gains + (fits - fits[_AS_TRAINED])
        self._frames = fade * self._frames + frames

    def _fits(self, words: Sequence[str], samples: NDArray[np.int16]) -> NDArray[np.float64] | None:
        """Return the log likelihood of the words at every factor, nats; None where they do not fit at one."""
        steps = zip(pairwise(range(len(words) + 1)), words, strict=True)
        arcs = [(at, to, 1.0, word) for (at, to), word in steps]
        fits = np.zeros(len(FACTORS))
        try:
            self._decoder.add_fsg(_NAME, self._decoder.create_fsg(_NAME, 0, len(words), arcs))
            self._decoder.activate_search(_NAME)
            for n, factor in enumerate(FACTORS):
                hear_whole(self._decoder, samples, factor)
                likelihood = log_likelihood_of(self._decoder)
                if likelihood is None:
                    return None
                fits[n] = likelihood
        except (RuntimeError, ValueError):  # the words do not fit the sound from end to end
            return None
        return fits
