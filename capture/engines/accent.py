"""The speaker's accent: phones that he says otherwise than the dictionary, learnt while he talks.

The words of each clear utterance are laid along its sound, each word with its own pronunciation and with each
of its phones shifted as accents shift them (``capture/vocabulary/accent_shifts.txt``); the sound chooses. A
shift that is chosen again and again is his, and the words that have it get a pronunciation more.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from capture.engines.word_graph import WordGraph
from capture.vocabulary.accents import Shift, known_shifts

#: Evidence (nats) of a word said with the shift and of one said without: a speaker who makes a shift was
#: found to make it in about 50 of 100 words, one who does not in 15 (development voices: a Scot's AW in 64,
#: his ER in 47; two Americans say OW otherwise in 27, TH in 26, by chance of sound).
_SAID, _NOT_SAID = float(np.log(0.5 / 0.15)), float(np.log(0.5 / 0.85))
#: A shift is taken up at 20 to 1, and given up where the evidence is gone.
_TAKEN_UP, _GIVEN_UP = 3.0, 0.0
#: What is known fades to half over so many frames (10 ms each) of newer speech: a second speaker is followed.
_HALF_LIFE = 24_000.0
#: Once so many frames were heard, only every so many utterances is listened to for it.
_WELL_KNOWN = 9000.0
_EVERY = 4
_MOST_WORDS = 30


class Accent:
    """Learns which phones are shifted; the same utterances in the same order give the same.

    Args:
        graph: of the decoder's own dictionary, as it is without an accent.
    """

    def __init__(self, graph: WordGraph) -> None:
        self._graph = graph
        self._known = known_shifts()
        self._ways: dict[str, dict[str, Shift]] = {}
        """Of each word met: the names under which the graph has its shifted pronunciations."""
        self._heard = dict.fromkeys(self._known, 0.0)
        """Words with each phone, faded."""
        self._said = {shift: 0.0 for shifts in self._known.values() for shift in shifts}
        """How many of them were said so, faded."""
        self._taken_up: set[Shift] = set()
        self._frames, self._taken = 0.0, 0

    @property
    def shifts(self) -> tuple[Shift, ...]:
        """What the speaker shifts, in a fixed order."""
        return tuple(sorted(self._taken_up))

    @property
    def memory(self) -> tuple[float, ...]:
        """All that is known, to be kept and given to :meth:`recall`."""
        taken_up = (float(shift in self._taken_up) for shift in self._said)
        return (float(self._taken), self._frames, *self._heard.values(), *self._said.values(), *taken_up)

    def recall(self, memory: Sequence[float]) -> None:
        """Know again what was known when ``memory`` was taken; another shape of memory is left alone."""
        phones, shifts = len(self._heard), len(self._said)
        if len(memory) != 2 + phones + 2 * shifts:
            return
        self._taken, self._frames = int(memory[0]), float(memory[1])
        rest = memory[2:]
        self._heard = dict(zip(self._heard, rest, strict=False))
        self._said = dict(zip(self._said, rest[phones:], strict=False))
        self._taken_up = {s for s, up in zip(self._said, rest[phones + shifts :], strict=True) if up}

    def learn(self, words: Sequence[str], samples: NDArray[np.int16], tract_factor: float) -> None:
        """Take in one utterance.

        Args:
            words: as the dictionary spells them.
            samples: int16, mono, 16 kHz, as the decoder got them.
            tract_factor: as the words were heard; see :mod:`capture.engines.voice_tract`.
        """
        self._taken += 1
        if len(words) > _MOST_WORDS or (self._frames > _WELL_KNOWN and self._taken % _EVERY):
            return
        choices = [(word, *self._ways_of(word)) for word in words]
        paths = self._graph.best(choices, samples, [tract_factor])
        if paths is None:
            return
        self._fade(paths[0].frames)
        for word, name in zip(words, paths[0].words, strict=True):
            for phone in {shift.phone for shift in self._ways[word].values()}:
                self._heard[phone] += 1
            if name in self._ways[word]:
                self._said[self._ways[word][name]] += 1
        self._decide()

    def _ways_of(self, word: str) -> Sequence[str]:
        if word not in self._ways:
            phones = self._graph.pronunciation(word) or ""
            each = dict.fromkeys(phones.split() if " " in phones else ())
            shifts = [shift for phone in each for shift in self._known.get(phone, ())]
            self._ways[word] = {f"{word}~{s.phone}~{s.said.replace(' ', '_')}": s for s in shifts}
            for name, shift in self._ways[word].items():
                self._graph.add(name, shift.applied(phones))
        return tuple(self._ways[word])

    def _fade(self, frames: int) -> None:
        fade = 0.5 ** (frames / _HALF_LIFE)
        self._frames = fade * self._frames + frames
        self._heard = {phone: fade * count for phone, count in self._heard.items()}
        self._said = {shift: fade * count for shift, count in self._said.items()}

    def _decide(self) -> None:
        for shift, said in self._said.items():
            evidence = _SAID * said + _NOT_SAID * (self._heard[shift.phone] - said)
            if evidence >= _TAKEN_UP:
                self._taken_up.add(shift)
            elif evidence <= _GIVEN_UP:
                self._taken_up.discard(shift)
