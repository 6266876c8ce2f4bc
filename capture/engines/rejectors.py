"""What a neural engine makes up, and how to tell: loops, stock phrases, hotwords in weak sound.

Such a network always says something. Its own probability does not reveal a loop, and it prints its
hotwords over silence; so each rejector looks at the text and the sound, not at how sure the network is.
A rejected hearing is nothing heard.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from capture.engines.numbers_heard import number_word
from capture.sound_blocks import RATE_HZ, Samples

#: Level of the loudest 0.2 s below which nobody spoke into this microphone: -54 dB of full scale.
_LEAST_LEVEL = 65.0
_LEVEL_WINDOW = RATE_HZ // 5
#: Nobody talks faster; auctioneers reach about eight (from memory).
_FASTEST_WORDS_A_S = 8.0
_SHORTEST_S = 0.4
_LONGEST_LOOP = 8
#: So many rounds of the same words in a row are a loop; with a number among them many more, for five vanes
#: or ten bolts may read the same.
_ROUNDS = 3
_ROUNDS_OF_ONE = 4
_ROUNDS_OF_NUMBERS = 16
#: Below these the sound is weak: hotwords alone then prove nothing.
_WEAK_SNR_DB = 8.0
_WEAK_CONFIDENCE = 0.5

#: What such networks say over silence and music: endings of broadcasts that they learned from (common
#: knowledge, no source). Only a whole utterance of it is dropped.
_MADE_UP = frozenset(
    (
        "thank you", "thanks", "thank you very much", "thanks for watching", "thank you for watching",
        "please subscribe", "like and subscribe", "see you next time", "see you in the next video", "bye",
        "bye bye", "you", "music", "applause", "silence", "blank audio", "subtitles by the community",
    )
)  # fmt: skip
_WORD = re.compile(r"[a-z0-9]+(?:['.,][a-z0-9]+)*")


def words_of(text: str) -> list[str]:
    """Return the words of printed text: lower case, no punctuation."""
    return _WORD.findall(text.lower())


def is_silent(samples: Samples) -> bool:
    """Tell whether nothing in the sound is as loud as speech (root mean square of its loudest 0.2 s)."""
    count = len(samples) // _LEVEL_WINDOW
    if not count:
        return True
    windows = samples[: count * _LEVEL_WINDOW].astype(np.float64).reshape(count, _LEVEL_WINDOW)
    return bool(np.sqrt((windows**2).mean(axis=1)).max() < _LEAST_LEVEL)


def is_loop(words: Sequence[str]) -> bool:
    """Tell whether the same words come round and round, oftener than anybody says them."""
    for length in range(1, _LONGEST_LOOP + 1):
        for at in range(len(words) - length + 1):
            once = list(words[at : at + length])
            rounds = _rounds_of(once)
            if len(words) - at >= length * rounds and list(words[at : at + length * rounds]) == once * rounds:
                return True
    return False


def _rounds_of(once: Sequence[str]) -> int:
    """Return how many rounds of these words are a loop."""
    if any(word[0].isdigit() or number_word(word) for word in once):
        return _ROUNDS_OF_NUMBERS
    return _ROUNDS_OF_ONE if len(once) == 1 else _ROUNDS


def is_too_fast(words: Sequence[str], length_s: float) -> bool:
    """Tell whether more words were printed than anyone can say in the time."""
    return len(words) / max(length_s, _SHORTEST_S) > _FASTEST_WORDS_A_S


def is_made_up(words: Sequence[str]) -> bool:
    """Tell whether the whole utterance is one of the phrases that are printed over silence."""
    return " ".join(words) in _MADE_UP


def is_only_hotwords(words: Sequence[str], hotwords: str, *, snr_db: float, confidence: float) -> bool:
    """Tell whether weak sound gave nothing but hotwords."""
    given = set(words_of(hotwords))
    weak = snr_db < _WEAK_SNR_DB or confidence < _WEAK_CONFIDENCE
    return weak and bool(words) and all(word in given for word in words)
