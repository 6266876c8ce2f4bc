"""How sure the engine was of the words that a reading stands on."""

from __future__ import annotations

from collections.abc import Sequence

from extract.tokens import Token, tokenize
from shared.speech import Utterance, Word


class WordConfidence:
    """Confidence of each token of an utterance, from the engine's words where it gave them."""

    def __init__(self, utterance: Utterance, tokens: Sequence[Token]) -> None:
        self.overall = utterance.confidence
        self._by_token: dict[int, float] = {}
        self._times: dict[int, tuple[float, float]] = {}
        if utterance.words:
            self._align(utterance.words, tokens)

    def _align(self, words: Sequence[Word], tokens: Sequence[Token]) -> None:
        """Match words to tokens in order; what does not match keeps the utterance's confidence."""
        at = 0
        for word in words:
            for piece in tokenize(word.text):
                for ahead in range(at, min(at + 6, len(tokens))):
                    if piece.norm in (tokens[ahead].norm, tokens[ahead].text.lower()):
                        self._by_token[ahead] = word.confidence
                        self._times[ahead] = (word.start_s, word.end_s)
                        at = ahead + 1
                        break

    def least(self, start: int, end: int) -> float:
        """Return the least confidence over tokens ``start`` to before ``end``."""
        known = [self._by_token[i] for i in range(start, end) if i in self._by_token]
        return min(known) if known else self.overall

    def times(self, start: int, end: int) -> tuple[float, float] | None:
        """Return first and last second of a run of tokens, None where the engine gave no times."""
        known = [self._times[i] for i in range(start, end) if i in self._times]
        return (known[0][0], known[-1][1]) if known else None
