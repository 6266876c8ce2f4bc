"""What a written word sounds like, coarsely: enough to see that "vein" was "vane".

Spelling goes to a short key: voiced and unvoiced partners (b/p, d/t, f/v, g/k, s/z) fall together,
as recognisers mix them up at a noisy bench; vowels keep their class, so that "seat" and "seed" meet
and "seat" and "sat" do not. Letter-to-sound rules of English, simplified; common knowledge, no source.
"""

from __future__ import annotations

from functools import lru_cache

_VOWEL_GROUPS = (
    ("igh", "Y"),
    ("eigh", "A"),
    ("ough", "O"),
    ("augh", "C"),
    ("eau", "O"),
    ("ai", "A"),
    ("ay", "A"),
    ("ei", "A"),
    ("ey", "A"),
    ("ee", "I"),
    ("ea", "I"),
    ("ie", "I"),
    ("oa", "O"),
    ("oe", "O"),
    ("ow", "O"),
    ("oo", "U"),
    ("ew", "U"),
    ("ue", "U"),
    ("ui", "U"),
    ("au", "C"),
    ("aw", "C"),
    ("ou", "W"),
    ("oi", "Q"),
    ("oy", "Q"),
)
_CONSONANT_GROUPS = (
    ("tch", "J"),
    ("dge", "J"),
    ("sch", "SK"),
    ("ph", "F"),
    ("ck", "K"),
    ("gh", ""),
    ("kn", "N"),
    ("wr", "R"),
    ("wh", "w"),
    ("sh", "J"),
    ("ch", "J"),
    ("th", "0"),
    ("qu", "Kw"),
    ("ps", "S"),
)
#: Only at the start of a word are these one sound.
_AT_START = frozenset({"kn", "wr", "ps"})
#: The groups by their first letter, in the order in which they are tried.
_GROUPS = {
    first: tuple(
        (letters, sound, letters in _AT_START)
        for letters, sound in (*_VOWEL_GROUPS, *_CONSONANT_GROUPS)
        if letters[0] == first
    )
    for first in {letters[0] for letters, _ in (*_VOWEL_GROUPS, *_CONSONANT_GROUPS)}
}
_CONSONANTS = {
    "b": "P",
    "p": "P",
    "d": "T",
    "t": "T",
    "f": "F",
    "v": "F",
    "g": "K",
    "k": "K",
    "q": "K",
    "s": "S",
    "z": "S",
    "j": "J",
    "l": "L",
    "m": "M",
    "n": "N",
    "r": "R",
    "w": "w",
    "x": "KS",
    "h": "h",
}
_LONG = {"a": "A", "e": "I", "i": "Y", "o": "O", "u": "U", "y": "Y"}
_SOFTENERS = frozenset("eiy")


@lru_cache(maxsize=8192)
def sound_of(word: str) -> str:
    """Return the sound key of one lower-case word; the word itself where it has no letters."""
    if not word.isalpha() or not word.isascii():
        return word
    key = ""
    i = 0
    while i < len(word):
        sound, i = _one_sound(word, i)
        if sound and not (key and key[-1] == sound[0] and sound[0].isupper() and sound[0] not in "AIYOU"):
            key += sound
    return key


def sounds_alike(heard: str, written: str) -> bool:
    """Tell whether two different words may be one and the same sound."""
    return heard != written and sound_of(heard) == sound_of(written)


def _one_sound(word: str, i: int) -> tuple[str, int]:
    letter = word[i]
    for letters, sound, at_start in _GROUPS.get(letter, ()):
        if word.startswith(letters, i) and not (at_start and i):
            return sound, i + len(letters)
    if letter in "aeiou" or (letter == "y" and i):
        return _vowel(word, i, letter)
    if letter == "c":
        soft = i + 1 < len(word) and word[i + 1] in _SOFTENERS
        return ("S" if soft else "K"), i + 1
    return _CONSONANTS.get(letter, letter), i + 1


def _vowel(word: str, i: int, letter: str) -> tuple[str, int]:
    rest = word[i + 1 :]
    if letter == "e" and rest in ("", "s", "d") and any(c in "aeiouy" for c in word[:i]):
        return "", i + 1
    silent_e_follows = (
        len(rest) >= 2 and rest[0] not in "aeiouywx" and rest[1:] in ("e", "es", "ed", "er", "ing")
    )
    if silent_e_follows:
        return _LONG[letter], i + 1
    if letter == "y" and not rest:
        return ("Y" if not any(c in "aeiou" for c in word[:i]) else "I"), i + 1
    return letter, i + 1
