"""How sure each word that is no number is: all forms of it that the decoder kept about there, taken together.

The decoder's posterior of a word is that of this form at this very frame: "clean" and "cleaned", "plate's"
and "plate is", the same word a few hundredths later, share what belongs to one word of one meaning.
On development speech the words of right findings rise by that, most to one; those of wrong ones do not.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from functools import lru_cache

from capture.engines.lattice import Lattice
from capture.engines.sphinx_decoder import FRAME_S, DecodedWord

#: Two words begin at one place where they begin so near together, or within half of the shorter one's length.
_NEAR_S = 0.12
_ENDINGS = ("ing", "ed", "es", "s", "d")
_SHORTEST_STEM = 3


def word_confidences(words: Sequence[DecodedWord], lattice: Lattice | None) -> list[float]:
    """Return how sure each decoded word is, 0 to 1.

    Args:
        words: of the best path.
        lattice: of the same decoding, or None: the decoder's own posteriors.
    """
    if lattice is None or not lattice.starts_s:
        return [word.posterior for word in words]
    shares: dict[int, float] = defaultdict(float)
    for link in lattice.links:
        shares[link.start] += link.posterior
    places: dict[str, list[tuple[float, float]]] = defaultdict(list)
    for node, share in shares.items():
        for stem in _stems(lattice.words[node]):
            places[stem].append((lattice.starts_s[node], share))
    return [_share_of(word, places) for word in words]


def _share_of(word: DecodedWord, places: dict[str, list[tuple[float, float]]]) -> float:
    start_s = word.start_frame * FRAME_S
    reach_s = max(_NEAR_S, (word.end_frame - word.start_frame) * FRAME_S / 2)
    sums = (
        sum(share for at_s, share in places.get(stem, ()) if abs(at_s - start_s) <= reach_s)
        for stem in _stems(word.text)
    )
    return min(1.0, max(word.posterior, *sums))


@lru_cache(4096)
def _stems(word: str) -> tuple[str, ...]:
    """Return what is the same in all forms of a word; of one joined of several, of each."""
    return tuple(_stem(piece) for piece in word.partition("(")[0].split("_") if piece)


def _stem(word: str) -> str:
    word = word.removesuffix("'s")
    for ending in _ENDINGS:
        if word.endswith(ending) and len(word) - len(ending) >= _SHORTEST_STEM:
            word = word.removesuffix(ending).rstrip("e")
            return word[:-1] if word[-2:-1] == word[-1] else word  # "scrapped"
    return word.rstrip("e") if len(word) > _SHORTEST_STEM else word
