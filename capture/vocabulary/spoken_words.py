"""From written phrases to the words that a speech engine's dictionary holds, and back.

Letters said one by one and units of two words are one word to the language model (``p_s_i``,
``foot_pounds``): it looks two words back, and so sees further. :func:`plain_text` undoes it.
"""

from __future__ import annotations

import re
import unicodedata

from capture.vocabulary.spoken_numbers import digits_of

#: Phrases that the language model takes as one word.
JOINED = tuple(
    phrase.split()
    for phrase in (
        "p s i", "r p m", "t i r", "k p a", "o rings", "o ring's", "o ring", "o d", "i d", "n m",
        "foot pounds", "foot pound", "inch pounds", "inch pound", "pound feet",
        "newton metres", "newton metre",
        "anti seize", "work order", "serial number", "degrees c", "degrees f",
    )
)  # fmt: skip
_JOINS_BY_FIRST: dict[str, list[list[str]]] = {}
for _phrase in JOINED:
    _JOINS_BY_FIRST.setdefault(_phrase[0], []).append(_phrase)

#: One spelling for words that sound alike, so that their counts add up.
_SAME_WORD = {
    "meter": "metre", "meters": "metres", "millimeter": "millimetre", "millimeters": "millimetres",
    "micrometer": "micrometre", "micrometers": "micrometres", "ok": "okay", "naught": "nought",
    "psi": "p_s_i",
    "rpm": "r_p_m", "kpa": "k_p_a", "tir": "t_i_r", "antiseize": "anti_seize", "alright": "all right",
    "gage": "gauge", "gages": "gauges", "newtonmetre": "newton metre", "newtonmetres": "newton metres",
    "threadlocker": "thread locker", "threadlock": "thread lock", "locknut": "lock nut", "o-ring": "o ring",
}  # fmt: skip
_SIGNS = {"%": " percent ", "&": " and ", "+": " plus ", "°": " degrees ", "µ": "u", "·": " ", "/": " "}
_WORD = re.compile(r"[a-z]+(?:'[a-z]+)*|'[a-z]+|[0-9]")


def dictionary_words(text: str) -> list[str]:
    """Return the dictionary words of a phrase as people write it; anything unspeakable is left out.

    Digits become words one by one; accents are dropped; ``psi`` and ``p s i`` both give ``p_s_i``.
    """
    for sign, word in _SIGNS.items():
        text = text.replace(sign, word)
    plain = unicodedata.normalize("NFKD", text.lower()).encode("ascii", "ignore").decode()
    found = [digits_of(word, "zero") if word.isdigit() else word for word in _WORD.findall(plain)]
    return join_words([part for word in found for part in _SAME_WORD.get(word, word).split()])


def join_words(words: list[str]) -> list[str]:
    """Put the :data:`JOINED` phrases of a list of words together."""
    joined: list[str] = []
    at = 0
    while at < len(words):
        for phrase in _JOINS_BY_FIRST.get(words[at], ()):
            if words[at : at + len(phrase)] == phrase:
                joined.append("_".join(phrase))
                at += len(phrase)
                break
        else:
            joined.append(words[at])
            at += 1
    return joined


def plain_text(words: str) -> str:
    """Return what was said, with joined words apart again."""
    return words.replace("_", " ")
