"""The commonest words of everyday English: left unexplained, they are no reason to ask the recogniser."""

from __future__ import annotations

import hashlib
from functools import cache, lru_cache
from pathlib import Path

#: Hashes of words (``bench/everyday_words.py`` says where they come from).
FILE = Path(__file__).with_name("recogniser_model") / "everyday.bin"
_BYTES = 5


def hash_of(word: str) -> bytes:
    """Return the hash by which a word stands in the file."""
    return hashlib.blake2b(word.encode(errors="replace"), digest_size=_BYTES).digest()


@lru_cache(maxsize=4096)
def is_everyday(word: str) -> bool:
    """Whether a word is one of the commonest."""
    return hash_of(word) in _hashes()


@cache
def _hashes() -> frozenset[bytes]:
    data = FILE.read_bytes()
    return frozenset(data[at : at + _BYTES] for at in range(0, len(data), _BYTES))
