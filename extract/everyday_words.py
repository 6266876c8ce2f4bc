"""Words of everyday English: the commonest, no reason to ask the recogniser, and things no machine has."""

from __future__ import annotations

import hashlib
from functools import cache, lru_cache
from pathlib import Path

from shared.data_files import read_data

#: Hashes of words (``bench/everyday_words.py`` says where they come from).
FILE = Path(__file__).with_name("recogniser_model") / "everyday.bin"
_BYTES = 5
#: Ends of several and of one: "vanes" are no vans.
_PLURALS = (
    ("s", ""), ("ies", "y"), ("ves", "f"), ("ses", "s"), ("xes", "x"), ("ches", "ch"), ("shes", "sh"),
    ("oes", "o"),
)  # fmt: skip
_THINGS = Path(__file__).with_name("everyday_things.yaml")


def hash_of(word: str) -> bytes:
    """Return the hash by which a word stands in the file."""
    return hashlib.blake2b(word.encode(errors="replace"), digest_size=_BYTES).digest()


@lru_cache(maxsize=4096)
def is_everyday(word: str) -> bool:
    """Whether a word is one of the commonest."""
    return hash_of(word) in _hashes()


def is_everyday_thing(word: str) -> bool:
    """Whether a word names a thing, a creature or a person of life beside the job, one or several."""
    ones = [word.removesuffix(many) + one for many, one in _PLURALS if word.endswith(many)]
    return not _things().isdisjoint((word, *ones))


@cache
def _things() -> frozenset[str]:
    data: dict[str, str] = read_data(_THINGS)
    return frozenset(word for words in data.values() for word in words.split())


@cache
def _hashes() -> frozenset[bytes]:
    data = FILE.read_bytes()
    return frozenset(data[at : at + _BYTES] for at in range(0, len(data), _BYTES))
