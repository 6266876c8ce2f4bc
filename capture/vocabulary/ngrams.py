"""Trigram counts and a smoothed model of one source of text.

Numpy throughout: a source is counted in tens of milliseconds.

Smoothing is interpolated absolute discounting with one discount an order, D = n1 / (n1 + 2 n2)
(Ney, Essen and Kneser 1994, "On structuring probabilistic dependences in stochastic language modelling"),
the lower orders from the same counts. Words are numbers below 2**20; an n-gram is one 64-bit key.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]

START, END = 0, 1
_BITS = 20
_MASK = (1 << _BITS) - 1


class WordNumbers:
    """Numbers for words; 0 is ``<s>`` and 1 ``</s>``."""

    def __init__(self, words: Iterable[str] = ()) -> None:
        self.words: list[str] = ["<s>", "</s>"]
        self._numbers: dict[str, int] = {"<s>": START, "</s>": END}
        for word in words:
            self.number(word)

    def __len__(self) -> int:
        return len(self.words)

    def __contains__(self, word: str) -> bool:
        return word in self._numbers

    def number(self, word: str) -> int:
        """Return a word's number, a new one for a new word."""
        found = self._numbers.get(word)
        if found is None:
            found = self._numbers[word] = len(self.words)
            self.words.append(word)
        return found

    def encode(self, lines: Iterable[list[str]]) -> Ints:
        """Return all lines as one array of numbers, each line between START and END."""
        numbers: list[int] = []
        number = self.number
        for line in lines:
            numbers.append(START)
            numbers.extend([number(word) for word in line])
            numbers.append(END)
        return np.array(numbers, dtype=np.int64)


def bigram_key(first: Ints, second: Ints) -> Ints:
    """Return keys of word pairs."""
    return (first << _BITS) | second


def trigram_key(first: Ints, second: Ints, third: Ints) -> Ints:
    """Return keys of word triples."""
    return (first << (2 * _BITS)) | (second << _BITS) | third


def history_of(keys: Ints) -> Ints:
    """Return keys without their last word."""
    return keys >> _BITS


def last_of(keys: Ints) -> Ints:
    """Return the last word of keys."""
    return keys & _MASK


def shorter(trigrams: Ints) -> Ints:
    """Return the bigram of the last two words of trigram keys."""
    return trigrams & ((1 << (2 * _BITS)) - 1)


def find(keys: Ints, wanted: Ints) -> tuple[Ints, NDArray[np.bool_]]:
    """Return (index, found) of ``wanted`` in the sorted ``keys``; the index is 0 where not found."""
    if not len(keys):
        return np.zeros(len(wanted), dtype=np.int64), np.zeros(len(wanted), dtype=bool)
    at = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    found = keys[at] == wanted
    return np.where(found, at, 0), found


class Source(Protocol):
    """A trigram model that can go into a mixture."""

    @property
    def unigrams(self) -> Floats:
        """Probability of each word number."""

    @property
    def bigram_keys(self) -> Ints:
        """Pairs worth listing, sorted."""

    @property
    def trigram_keys(self) -> Ints:
        """Triples worth listing, sorted."""

    def bigram_probability(self, keys: Ints) -> Floats:
        """Return p(second | first), shape of keys."""

    def trigram_probability(self, keys: Ints) -> Floats:
        """Return p(third | first second), shape of keys."""


@dataclass(frozen=True)
class Order:
    """All n-grams of one length: sorted keys, discounted probability, what each history leaves over."""

    keys: Ints
    kept: Floats
    """max(count - discount, 0) / count of the history; shape of keys."""
    histories: Ints
    left: Floats
    """Mass that a seen history hands to the shorter one; shape of histories."""


@dataclass(frozen=True)
class SourceModel:
    """A smoothed trigram model of one source of text."""

    unigrams: Floats
    """Probability of each word number, summing to one; <s> has none."""
    bigrams: Order
    trigrams: Order

    @property
    def bigram_keys(self) -> Ints:
        """Pairs that were seen, sorted."""
        return self.bigrams.keys

    @property
    def trigram_keys(self) -> Ints:
        """Triples that were seen, sorted."""
        return self.trigrams.keys

    def bigram_probability(self, keys: Ints) -> Floats:
        """Return p(second | first), shape of keys."""
        return _interpolated(self.bigrams, keys, self.unigrams[last_of(keys)])

    def trigram_probability(self, keys: Ints) -> Floats:
        """Return p(third | first second), shape of keys."""
        return _interpolated(self.trigrams, keys, self.bigram_probability(shorter(keys)))


def _interpolated(order: Order, keys: Ints, lower: Floats) -> Floats:
    at, seen = find(order.keys, keys)
    known_at, known = find(order.histories, history_of(keys))
    kept = np.where(seen, order.kept[at] if len(order.keys) else 0.0, 0.0)
    left = np.where(known, order.left[known_at] if len(order.histories) else 1.0, 1.0)
    probability: Floats = kept + left * lower
    return probability


def train_source(text: Ints, vocabulary_size: int) -> SourceModel:
    """Train a model on encoded text (see :meth:`WordNumbers.encode`).

    Args:
        text: word numbers, lines each between START and END.
        vocabulary_size: how many word numbers there are; unseen ones share the left-over evenly.
    """
    unigrams = _unigrams(text, vocabulary_size)
    inside = text[1:] != START
    bigrams = _order(bigram_key(text[:-1], text[1:])[inside])
    inner = inside[1:] & inside[:-1]
    trigrams = _order(trigram_key(text[:-2], text[1:-1], text[2:])[inner])
    return SourceModel(unigrams, bigrams, trigrams)


def _discount(counts: Ints) -> float:
    once, twice = int((counts == 1).sum()), int((counts == 2).sum())
    return once / (once + 2 * twice) if once else 0.5


def _unigrams(text: Ints, vocabulary_size: int) -> Floats:
    counts = np.bincount(text[text != START], minlength=vocabulary_size).astype(np.float64)
    total = counts.sum()
    if not total:
        counts[END] = total = 1.0
    discount = _discount(counts.astype(np.int64))
    kept = np.maximum(counts - discount, 0.0)
    # <s> is never predicted, so it takes no share of what is left over.
    probability: Floats = (kept + (total - kept.sum()) / (vocabulary_size - 1)) / total
    probability[START] = 0.0
    return probability


def _order(ngrams: Ints) -> Order:
    keys, counts = np.unique(ngrams, return_counts=True)
    discount = _discount(counts)
    histories, starts = np.unique(history_of(keys), return_index=True)
    if not len(keys):
        empty = np.zeros(0)
        return Order(keys, empty, histories, empty)
    totals = np.add.reduceat(counts, starts).astype(np.float64)
    kept = np.maximum(counts - discount, 0.0)
    sizes = np.diff(np.append(starts, len(keys)))
    left = (totals - np.add.reduceat(kept, starts)) / totals
    return Order(keys, kept / np.repeat(totals, sizes), histories, left)
