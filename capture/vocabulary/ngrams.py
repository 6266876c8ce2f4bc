"""Trigram counts and a smoothed model of one source of text.

Numpy throughout: a source is counted in tens of milliseconds.

Smoothing is interpolated absolute discounting with one discount an order, D = n1 / (n1 + 2 n2)
(Ney, Essen and Kneser 1994, "On structuring probabilistic dependences in stochastic language modelling"),
the lower orders from the same counts. Text that stands several times over, its slots filled differently,
counts as if it stood once: an n-gram of every copy counts one, of one copy in four a quarter, and gives up
as much of it, so that a slot hands on what a single word would. Words are numbers below 2**20; an n-gram is
one 64-bit key.
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
    seen: Floats
    """How often each history was followed by a word; shape of histories."""

    def times_seen(self, histories: Ints) -> Floats:
        """Return how often histories were seen, 0 for a new one; shape of histories."""
        at, known = find(self.histories, histories)
        return np.where(known, self.seen[at] if len(self.seen) else 0.0, 0.0)


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


def train_source(text: Ints, vocabulary_size: int, copies: int = 1) -> SourceModel:
    """Train a model on encoded text (see :meth:`WordNumbers.encode`).

    Args:
        text: word numbers, lines each between START and END.
        vocabulary_size: how many word numbers there are; unseen ones share the left-over evenly.
        copies: how many times over the text stands, its slots filled differently.
    """
    unigrams = _unigrams(text, vocabulary_size, copies)
    inside = text[1:] != START
    bigrams = _order(bigram_key(text[:-1], text[1:])[inside], copies)
    inner = inside[1:] & inside[:-1]
    trigrams = _order(trigram_key(text[:-2], text[1:-1], text[2:])[inner], copies)
    return SourceModel(unigrams, bigrams, trigrams)


def _discounted(counts: Floats) -> Floats:
    """Return counts (of one copy of the text) less their discount."""
    once, twice = int(((counts > 0) & (counts <= 1)).sum()), int(((counts > 1) & (counts <= 2)).sum())
    discount = once / (once + 2 * twice) if once else 0.5
    kept: Floats = np.maximum(counts - discount * np.minimum(counts, 1.0), 0.0)
    return kept


def _unigrams(text: Ints, vocabulary_size: int, copies: int) -> Floats:
    counts = np.bincount(text[text != START], minlength=vocabulary_size) / copies
    total = counts.sum()
    if not total:
        counts[END] = total = 1.0
    kept = _discounted(counts)
    # <s> is never predicted, so it takes no share of what is left over.
    probability: Floats = (kept + (total - kept.sum()) / (vocabulary_size - 1)) / total
    probability[START] = 0.0
    return probability


def _order(ngrams: Ints, copies: int) -> Order:
    keys, times = np.unique(ngrams, return_counts=True)
    counts = times / copies
    histories, starts = np.unique(history_of(keys), return_index=True)
    if not len(keys):
        empty = np.zeros(0)
        return Order(keys, empty, histories, empty, empty)
    totals = np.add.reduceat(counts, starts)
    kept = _discounted(counts)
    sizes = np.diff(np.append(starts, len(keys)))
    left = (totals - np.add.reduceat(kept, starts)) / totals
    return Order(keys, kept / np.repeat(totals, sizes), histories, left, totals)
