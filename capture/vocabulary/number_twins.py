"""Words that sound like small numbers: "to" and "two", "tree" and "three", by the pronunciation dictionary.

What is found stands in ``extract/number_twins.yaml``, where the reader of words finds it; this writes it:
``python -m capture.vocabulary.number_twins > extract/number_twins.yaml``. A test compares the two.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from capture.vocabulary.accents import known_shifts
from capture.vocabulary.pronunciations import general_dictionary, pronunciations_of

#: Positions are counted so far.
NUMBERS = (
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
)  # fmt: skip
_HEAD = """\
# Words that sound like the numbers of positions: "same" as the dictionary has them, "near" with one phone
# said as some speakers say it. Written by capture/vocabulary/number_twins.py from the CMU dictionary of the
# pocketsphinx package and capture/vocabulary/accent_shifts.txt; not edited by hand.
"""


@cache
def number_twins() -> dict[str, dict[str, list[str]]]:
    """Return, for "same" and "near", the words of the dictionary that sound like each number."""
    said = _words_by_sound()
    same: dict[str, list[str]] = {}
    near: dict[str, list[str]] = {}
    for number in NUMBERS:
        own = set(pronunciations_of(number))
        alike = {word for phones in own for word in said.get(phones, ())} - {number}
        shifted = {form for phones in own for form in _one_phone_otherwise(phones)}
        close = {word for phones in shifted for word in said.get(phones, ())}
        same[number] = sorted(alike)
        near[number] = sorted(close - alike - set(NUMBERS))
    return {"same": same, "near": near}


def twins_text() -> str:
    """Return the data file."""
    lines = [_HEAD.rstrip("\n")]
    for kind, words in number_twins().items():
        lines.append(f"{kind}:")
        lines += [f"  {number}: [{', '.join(map(repr, found))}]" for number, found in words.items() if found]
    return "\n".join(lines).replace("'", '"') + "\n"


def _words_by_sound() -> dict[str, list[str]]:
    """Return words by their sound; with an s behind them too ("sicks")."""
    said: dict[str, list[str]] = {}
    known = general_dictionary()
    for word in known:
        if word.isascii() and word.isalpha() and len(word) > 1:
            for spelled in (word, f"{word}s") if f"{word}s" not in known else (word,):
                for phones in pronunciations_of(spelled):
                    said.setdefault(phones, []).append(spelled)
    return said


def _one_phone_otherwise(phones: str) -> Iterator[str]:
    """Yield a pronunciation with one phone said otherwise: the dictionary's by a shift, or shifted back."""
    otherwise: dict[str, set[str]] = {}
    for phone, shifts in known_shifts().items():
        for shift in shifts:
            otherwise.setdefault(phone, set()).add(shift.said)
            otherwise.setdefault(shift.said, set()).add(phone)
    words = phones.split()
    for at, phone in enumerate(words):
        for other in otherwise.get(phone, ()):
            yield " ".join([*words[:at], other, *words[at + 1 :]])


if __name__ == "__main__":
    print(twins_text(), end="")
