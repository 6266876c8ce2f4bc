"""Writes ``extract/recogniser_model/everyday.bin``: hashes of the commonest English words.

From the unigrams of the general language model in the pocketsphinx package (BSD-like licence). ``make train``
runs it. Hashes, since nobody has read the list: it holds names of people and coarse words.
"""

from __future__ import annotations

import re

import numpy as np

from capture.vocabulary.general_model import read_general_model
from extract.everyday_words import FILE, hash_of

COUNT = 1_500


def everyday_words(count: int = COUNT) -> list[str]:
    """Return the commonest words of three letters or more."""
    model = read_general_model()
    words: dict[str, None] = {}
    for n in np.argsort(-np.asarray(model.probability), kind="stable"):
        word = model.words[n].lower() if n < len(model.words) else ""
        if re.fullmatch("[a-z]{3,}", word):
            words[word] = None
        if len(words) == count:
            break
    return list(words)


def write() -> None:
    """Write the file anew."""
    FILE.write_bytes(b"".join(hash_of(word) for word in everyday_words()))


if __name__ == "__main__":
    write()
