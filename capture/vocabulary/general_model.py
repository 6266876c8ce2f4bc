"""Everyday English: the general trigram model that comes with pocketsphinx, read into arrays.

It is a source of the mixture like any text of ours, but as what it is, not as sentences drawn from it:
on development talk that lowers the perplexity by a tenth. The file is the library's binary trie (read
off its source, ``lm_trie.c`` and ``lm_trie_quant.c``): unigrams; then for each word the words that may
stand before it, bit-packed, with probability and back-off as numbers of a table; then the same once more.
"""

from __future__ import annotations

import hashlib
import re
import struct
from dataclasses import dataclass
from functools import cache, cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from capture.vocabulary.ngrams import (
    START,
    Floats,
    Ints,
    WordNumbers,
    bigram_key,
    find,
    history_of,
    last_of,
    shorter,
    trigram_key,
)
from shared.errors import VocabularyError

COMMONEST = 5_000
_HEAD = b"Trie Language Model"
_ORDER = 3
_TABLE = 1 << 16
_TABLE_BITS = 16
_UNIGRAM = np.dtype([("probability", "<f4"), ("backoff", "<f4"), ("next", "<u4")])
#: The library's logarithms are to this base.
_LOG_BASE = float(np.log(1.0001))
_WORD = re.compile(r"[a-z]+('[a-z]+)?")
#: n-grams less likely than this change nothing that can be heard: looked up, never listed.
_LEAST_JOINT = 2e-8
_UNKNOWN = 1e-9
#: About every tenth word begins a sentence.
_STARTS = 0.1
#: First six bytes of the SHA-256 of words too coarse to stand in a report, even misheard.
_LEFT_OUT = Path(__file__).parent / "left_out.txt"


def general_model_path() -> Path:
    """Return the general language model in the pocketsphinx package."""
    import pocketsphinx

    return Path(pocketsphinx.get_model_path()) / "en-us" / "en-us.lm.bin"


@dataclass(frozen=True)
class GeneralModel:
    """All n-grams of the file; natural logarithms. A bigram is (before, word), by numbers of ``words``."""

    words: tuple[str, ...]
    probability: Floats
    backoff: Floats
    before2: Ints
    word2: Ints
    probability2: Floats
    backoff2: Floats
    """Of the pair as a history."""
    pair3: Ints
    """Which bigram a trigram ends with."""
    before3: Ints
    probability3: Floats

    @cached_property
    def common(self) -> tuple[str, ...]:
        """The commonest words, fit to be printed, commonest first."""
        coarse = frozenset(_LEFT_OUT.read_text(encoding="ascii").split())
        found: list[str] = []
        for at in np.argsort(-self.probability).tolist():
            word = self.words[at]
            if _WORD.fullmatch(word) and not is_left_out(word, coarse):
                found.append(word)
                if len(found) == COMMONEST:
                    break
        return tuple(found)


def is_left_out(word: str, coarse: frozenset[str]) -> bool:
    """Tell whether a word is on the list of hashes."""
    return hashlib.sha256(word.encode()).hexdigest()[:12] in coarse


@cache
def read_general_model(path: Path | None = None) -> GeneralModel:
    """Read the file.

    Raises:
        VocabularyError: it is not there, or not as expected.
    """
    path = path or general_model_path()
    try:
        return _parse(path.read_bytes())
    except (OSError, ValueError, struct.error, IndexError) as exc:
        raise VocabularyError(
            f"the general language model cannot be read: {exc}",
            where=str(path),
            expected="a trigram model in the library's binary form",
            remedy="install the program's dependencies again",
        ) from exc


def _parse(data: bytes) -> GeneralModel:
    at = len(_HEAD) + 1
    if not data.startswith(_HEAD) or data[at - 1] != _ORDER:
        raise ValueError("no trigram model")
    counts = struct.unpack_from(f"<{_ORDER}I", data, at)
    at += 4 * _ORDER + 4  # behind the counts stands a number without meaning
    tables = np.frombuffer(data, "<f4", 3 * _TABLE, at).reshape(3, _TABLE)
    at += tables.nbytes
    unigrams = np.frombuffer(data, _UNIGRAM, counts[0] + 1, at)
    at += unigrams.nbytes
    word_bits, next_bits = counts[0].bit_length(), counts[2].bit_length()
    pairs = _Packed(data, at, counts[1], word_bits + 2 * _TABLE_BITS + next_bits)
    triples = _Packed(data, at + pairs.size, counts[2], word_bits + _TABLE_BITS)
    at += pairs.size + triples.size + 4
    starts = unigrams["next"].astype(np.int64)
    firsts = pairs.field(starts[-1] + 1, word_bits + 2 * _TABLE_BITS, next_bits)
    words = tuple(word.decode() for word in data[at:].split(b"\0")[:-1])
    if len(words) != counts[0] or firsts[-1] > counts[2]:
        raise ValueError("its parts do not fit together")
    pair_count, triple_count = int(starts[-1]), int(firsts[-1])
    return GeneralModel(
        words,
        unigrams["probability"][:-1] * _LOG_BASE,
        unigrams["backoff"][:-1] * _LOG_BASE,
        pairs.field(pair_count, 0, word_bits),
        np.repeat(np.arange(counts[0]), np.diff(starts)),
        tables[0][pairs.field(pair_count, word_bits + _TABLE_BITS, _TABLE_BITS)] * _LOG_BASE,
        tables[1][pairs.field(pair_count, word_bits, _TABLE_BITS)] * _LOG_BASE,
        np.repeat(np.arange(pair_count), np.diff(firsts)),
        triples.field(triple_count, 0, word_bits),
        tables[2][triples.field(triple_count, word_bits, _TABLE_BITS)] * _LOG_BASE,
    )


class _Packed:
    """Entries of a fixed number of bits in a row."""

    def __init__(self, data: bytes, at: int, count: int, bits: int) -> None:
        self._bits = bits
        # The library leaves room for one entry and eight bytes more.
        self.size = ((1 + count) * bits + 7) // 8 + 8
        # Eight bytes from every byte on, as one number each.
        self._from_byte: NDArray[np.uint64] = np.ndarray(
            (self.size - 7,), np.dtype("<u8"), buffer=data, offset=at, strides=(1,)
        )

    def field(self, count: int, offset: int, width: int) -> Ints:
        """Return one field (at most 57 bits) of the first ``count`` entries."""
        bit = np.arange(count, dtype=np.int64) * self._bits + offset
        shifted = self._from_byte[bit >> 3] >> (bit & 7).astype(np.uint64)
        values: Ints = (shifted & np.uint64((1 << width) - 1)).astype(np.int64)
        return values


class GeneralSource:
    """The general model over other word numbers, as a source of a mixture; see ``ngrams.SourceModel``."""

    def __init__(self, model: GeneralModel, numbers: WordNumbers) -> None:
        ours = np.array([numbers.number(w) if w in numbers else -1 for w in model.words], np.int64)
        size, known = len(numbers), ours >= 0
        unigrams, backoff = np.full(size, _UNKNOWN), np.ones(size)
        unigrams[ours[known]], backoff[ours[known]] = (
            np.exp(model.probability[known]),
            np.exp(model.backoff[known]),
        )
        unigrams[START] = 0.0
        # What the model gives to words that are not ours is shared out evenly.
        self._scale = 1.0 / float(unigrams.sum())
        self.unigrams: Floats = unigrams * self._scale
        self._backoff = backoff
        before, word = ours[model.before2], ours[model.word2]
        inside = (before >= 0) & (word >= 0)
        pairs = bigram_key(before[inside], word[inside])
        order = np.argsort(pairs)
        self._pairs = pairs[order]
        self._pair_chance = np.exp(model.probability2[inside][order]) * self._scale
        self._pair_backoff = np.exp(model.backoff2[inside][order])
        triple = inside[model.pair3] & (ours[model.before3] >= 0)
        pair = model.pair3[triple]
        triples = trigram_key(ours[model.before3[triple]], before[pair], word[pair])
        order = np.argsort(triples)
        self._triples = triples[order]
        self._triple_chance = np.exp(model.probability3[triple][order]) * self._scale
        self.bigram_keys, self.trigram_keys = self._listed()

    def _listed(self) -> tuple[Ints, Ints]:
        before = history_of(self._pairs)
        joint2 = np.where(before == START, _STARTS, self.unigrams[before]) * self._pair_chance
        at, found = find(self._pairs, history_of(self._triples))
        joint3 = np.where(found, joint2[at], 0.0) * self._triple_chance
        return self._pairs[joint2 >= _LEAST_JOINT], self._triples[joint3 >= _LEAST_JOINT]

    def bigram_probability(self, keys: Ints) -> Floats:
        """Return p(second | first), shape of keys."""
        at, found = find(self._pairs, keys)
        below = self._backoff[history_of(keys)] * self.unigrams[last_of(keys)]
        return np.where(found, self._pair_chance[at], below)

    def trigram_probability(self, keys: Ints) -> Floats:
        """Return p(third | first second), shape of keys."""
        at, found = find(self._triples, keys)
        history, known = find(self._pairs, history_of(keys))
        weight = np.where(known, self._pair_backoff[history], 1.0)
        return np.where(found, self._triple_chance[at], weight * self.bigram_probability(shorter(keys)))
