"""How sure each word of a number is, and what else the number may have been, from a word lattice.

A decoder's posterior of one word says how sure that very word is at that very place: low for the ``a`` of
"half a thou", which may be there or not and changes nothing. What counts is the number: so all paths of the
lattice that say the same number words are taken together, and a number word is as sure as the paths that
have it where the best one has it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from difflib import SequenceMatcher
from itertools import takewhile

from capture.engines.lattice import Heard
from capture.engines.numbers_heard import number_word, number_words_of
from capture.engines.telling_words import JOINTS

#: So many times as likely as any other. Of the number lines of four retired jobs in quiet that both passes
#: heard alike, those with a wrong value were 0.9 to 1.8 times as likely as the likeliest other ("point
#: ninety" for "point nine two", "eight two output" for "eight oh output"); three times cost no right one.
_BY_FAR = 3.0
#: Heard for number words, which they sound like.
_SOUNDS_LIKE = {"to": "two", "too": "two", "for": "four", "won": "one", "ate": "eight", "o": "oh"}


def in_numbers(text: str) -> str:
    """Return a text with what sounds like a digit put right inside a decimal: ``point seven to one``.

    Only where no range can be meant: at the end of the text, or before digits that no other point follows.
    """
    words = text.split()
    behind_point = False
    for at, word in enumerate(words):
        if behind_point and word in _SOUNDS_LIKE and _goes_on(words[at + 1 :]):
            words[at] = _SOUNDS_LIKE[word]
        behind_point = words[at] == "point" or (behind_point and bool(number_word(words[at])))
    return " ".join(words)


def _goes_on(rest: Sequence[str]) -> bool:
    run = list(takewhile(number_word, rest))
    return not rest or (bool(run) and "point" not in run)


def number_confidences(
    words: Sequence[str], heard: Sequence[Heard], telling: Callable[[str], str] = number_word
) -> list[float | None]:
    """Return how sure each word that counts is, None for words that do not count.

    Args:
        words: of the best path, in order.
        heard: what may have been said by its words that count, with shares (``lattice.likely_sequences``).
        telling: what counts of a word.
    """
    places = [at for at, word in enumerate(words) if telling(word)]
    own = [telling(words[at]) for at in places]
    total = sum(one.share for one in heard)
    if not own or total <= 0:
        return [None] * len(words)
    sure = [0.0] * len(own)
    for one in heard:
        for at in _agreed(own, [counts for counts in map(telling, one.text.split()) if counts]):
            sure[at] += one.share / total
    found: list[float | None] = [None] * len(words)
    for at, share in zip(places, sure, strict=True):
        found[at] = min(1.0, share)
    return with_joints(words, found)


def is_well_formed(text: str) -> bool:
    """Tell whether no number of a text lacks what it needs: digits behind a point, a count before hundred."""
    words = text.split()
    for at, word in enumerate(words):
        if word == "point" and not number_word((*words, "")[at + 1]):
            return False
        before = words[at - 1] if at else ""
        if word in ("hundred", "thousand") and not (number_word(before) or before in ("a", "per")):
            return False
    return True


def are_likeliest(text: str, heard: Sequence[Heard]) -> bool:
    """Tell whether the numbers of a text are by far the likeliest, all that has the same taken together.

    The search returns the one best path; lesser ones that agree in other numbers may outweigh it.
    """
    shares: dict[tuple[str, ...], float] = {}
    for one in heard:
        numbers = number_words_of(one.text)
        shares[numbers] = shares.get(numbers, 0.0) + one.share
    own = shares.pop(number_words_of(text), 0.0)
    return own >= _BY_FAR * max(shares.values(), default=0.0)


def only_leaves_out(own: Sequence[str], other: Sequence[str]) -> bool:
    """Tell whether another hearing has the same words in order and only fewer of them."""
    rest = iter(own)
    return len(other) < len(own) and all(word in rest for word in other)


def _agreed(own: Sequence[str], other: Sequence[str]) -> set[int]:
    """Return which number words another hearing has too, with nothing more beside them."""
    agreed: set[int] = set()
    matcher = SequenceMatcher(None, own, other, autojunk=False)
    for kind, start, end, _, _ in matcher.get_opcodes():
        if kind == "equal":
            agreed |= set(range(start, end))
    for kind, start, _, _, _ in matcher.get_opcodes():
        if kind == "insert":
            agreed -= {start - 1, start}
    return agreed


def with_joints(words: Sequence[str], found: list[float | None]) -> list[float | None]:
    """Give the little words within a number the confidence of the number words around them."""
    filled = list(found)
    for at, word in enumerate(words):
        if word in JOINTS and found[at] is None:
            beside = [filled[n] for n in (at - 1, at + 1) if 0 <= n < len(words)]
            known = [share for share in beside if share is not None]
            if known:
                filled[at] = min(known)
    return filled
