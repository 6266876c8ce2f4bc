"""What an invented mechanic says: one utterance after the other, with its place in the sound."""

from __future__ import annotations

from random import Random

from shared.record import Evidence
from shared.speech import Utterance

ENGINE = "invented"
#: Talk about the job that no entry comes of; our own sentences.
_BESIDES = (
    "right let's have a look at her", "hand me the small puller please", "wiping this off first",
    "that took some heat to shift", "careful with that edge", "where did the feeler gauge go",
    "turning it round on the bench", "a bit of silt in there as always",
    "that came off easier than last time",
    "marking this one so it goes back the same way", "light over here please", "that looks about right",
    "just seating it now", "checking the drawing for that", "let me do that one again slowly",
)  # fmt: skip
#: Seconds: a phrase goes by in about this much a word.
_A_WORD_S = 0.38
RECORDING = "001"


class Talk:
    """The talk of one rebuild as it grows.

    Args:
        rng: its chance.
        pace_s: seconds from one thing said to the next, on the average.
    """

    def __init__(self, rng: Random, pace_s: float) -> None:
        self._rng, self._pace_s = rng, pace_s
        self.at_s = 4.0
        self.said: dict[int, Utterance] = {}

    def say(self, words: str, rule: str = "invented") -> Evidence:
        """Say something that an entry comes of, after a while; return its evidence."""
        if self._rng.random() < 0.3:
            self._utter(self._rng.choice(_BESIDES))
        number, spoken = self._utter(words)
        return Evidence(
            recording=RECORDING, utterance=number, start_s=spoken.start_s, end_s=spoken.end_s, words=words,
            engine=ENGINE, confidence=round(self._rng.uniform(0.8, 0.99), 2), rule=rule,
        )  # fmt: skip

    def _utter(self, words: str) -> tuple[int, Utterance]:
        self.at_s = round(self.at_s + self._rng.expovariate(1 / self._pace_s) + 0.6, 2)
        ends_s = round(self.at_s + 0.3 + _A_WORD_S * len(words.split()), 2)
        number = len(self.said)
        self.said[number] = spoken = Utterance(
            words, self.at_s, ends_s, engine=ENGINE, recording=RECORDING, confidence=0.9
        )
        self.at_s = ends_s
        return number, spoken
