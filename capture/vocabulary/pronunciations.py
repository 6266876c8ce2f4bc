"""How every word of a vocabulary is said: hand-made entries, the CMU dictionary, word endings, letters.

Phones are those of the CMU dictionary without stress, as the acoustic model of the pocketsphinx
package knows them. Nothing is ever without a pronunciation.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path

from capture.vocabulary.compounds import halves_of
from capture.vocabulary.letter_to_sound import sounds_of

HAND_MADE = Path(__file__).parent / "hand_made.dict"
_VARIANT = re.compile(r"\(\d+\)$")
_VOICELESS = frozenset(["P", "T", "K", "F", "TH"])
_HISSING = frozenset(["S", "Z", "SH", "ZH", "CH", "JH"])
_LETTERS = {
    "a": "EY", "b": "B IY", "c": "S IY", "d": "D IY", "e": "IY", "f": "EH F", "g": "JH IY", "h": "EY CH",
    "i": "AY", "j": "JH EY", "k": "K EY", "l": "EH L", "m": "EH M", "n": "EH N", "o": "OW", "p": "P IY",
    "q": "K Y UW", "r": "AA R", "s": "EH S", "t": "T IY", "u": "Y UW", "v": "V IY", "w": "D AH B AH L Y UW",
    "x": "EH K S", "y": "W AY", "z": "Z IY",
}  # fmt: skip
_ENDINGS = {
    "'ll": ("AH L", "L"),
    "'d": ("D", "IH D"),
    "'ve": ("AH V", "V"),
    "'re": ("ER",),
    "n't": ("AH N T",),
}


def general_dictionary_path() -> Path:
    """Return the CMU dictionary in the pocketsphinx package."""
    import pocketsphinx

    return Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict"


@cache
def general_dictionary() -> dict[str, list[str]]:
    """Return the CMU dictionary: word to pronunciations, phones parted by one space."""
    return read_dictionary(general_dictionary_path())


@cache
def hand_made_dictionary() -> dict[str, list[str]]:
    """Return our own entries; they stand in place of the CMU dictionary's."""
    return read_dictionary(HAND_MADE)


def read_dictionary(path: Path) -> dict[str, list[str]]:
    """Read a dictionary in the CMU format; ``word(2)`` is a variant of ``word``; # opens a comment."""
    entries: dict[str, list[str]] = {}
    for line in path.read_text(encoding="utf-8").splitlines():
        word, _, phones = line.partition(" ")
        if phones and not word.startswith("#"):
            entries.setdefault(_VARIANT.sub("", word), []).append(" ".join(phones.split()))
    return entries


def pronunciations_of(word: str) -> list[str]:
    """Return how a word may be said, likeliest first; never empty for a word with a letter in it."""
    for source in (hand_made_dictionary(), general_dictionary()):
        if word in source:
            return source[word]
    if "_" in word:
        return _joined(word.split("_"))
    if len(word) == 1:
        return [_LETTERS.get(word, "AH")]
    return _ended(word) or _guessed(word)


def is_guessed(word: str) -> bool:
    """Tell whether no dictionary holds a word, nor one that it is an ending or a row of."""
    known = word in hand_made_dictionary() or word in general_dictionary()
    if known or len(word) < 2 or "_" in word:
        return any(map(is_guessed, word.split("_"))) if "_" in word and not known else False
    if word.endswith(("'s", "s'")):
        return is_guessed(word[:-2])
    return not _ended(word)


def _guessed(word: str) -> list[str]:
    halves = halves_of(word)
    if halves and all(map(_known, halves)):
        return _joined(list(halves))
    return [" ".join(sounds_of(word)) or "AH"]


def _joined(words: list[str]) -> list[str]:
    """Say words in a row; each with its first pronunciation, the last with all of its own."""
    front = " ".join(pronunciations_of(word)[0] for word in words[:-1])
    return [f"{front} {last}" for last in pronunciations_of(words[-1])]


def _known(word: str) -> list[str]:
    return hand_made_dictionary().get(word) or general_dictionary().get(word) or []


def _ended(word: str) -> list[str]:
    """Say a word by a known one and its ending: ``gasket's``, ``impellers``, ``torqued``, ``seat'll``."""
    if word.endswith(("'s", "s'")):
        return [_with_s(stem) for stem in pronunciations_of(word[:-2])]
    for ending, sounds in _ENDINGS.items():
        if word.endswith(ending) and len(word) > len(ending):
            return [f"{stem} {sound}" for stem in pronunciations_of(word[: -len(ending)]) for sound in sounds]
    if word.endswith("s") and not word.endswith("ss"):
        stems = _known(word[:-1]) or (_known(word[:-2]) if word.endswith("es") else [])
        if stems:
            return [_with_s(stem) for stem in stems]
    if word.endswith("ed"):
        stems = _known(word[:-2]) or _known(word[:-1])
        if stems:
            return [_with_d(stem) for stem in stems]
    if word.endswith("ing"):
        stems = _known(word[:-3]) or _known(word[:-3] + "e")
        if stems:
            return [f"{stem} IH NG" for stem in stems]
    for front, said in (("re", "R IY"), ("un", "AH N"), ("de", "D IY")):
        stems = _known(word[2:]) if word.startswith(front) and len(word) > 5 else []
        if stems:
            return [f"{said} {stem}" for stem in stems]
    return []


def _with_s(stem: str) -> str:
    last = stem.rsplit(" ", 1)[-1]
    return f"{stem} {'IH Z' if last in _HISSING else 'S' if last in _VOICELESS else 'Z'}"


def _with_d(stem: str) -> str:
    last = stem.rsplit(" ", 1)[-1]
    voiceless = last in _VOICELESS or last in {"S", "SH", "CH"}
    return f"{stem} {'IH D' if last in {'T', 'D'} else 'T' if voiceless else 'D'}"


def dictionary_text(words: Iterable[str]) -> str:
    """Return a dictionary in the CMU format that holds every word once or with variants."""
    lines: list[str] = []
    for word in sorted(set(words)):
        for number, phones in enumerate(dict.fromkeys(pronunciations_of(word)), 1):
            lines.append(f"{word} {phones}" if number == 1 else f"{word}({number}) {phones}")
    return "\n".join(lines) + "\n"
