"""Several sources of text mixed into one back-off trigram model, pruned and written as ARPA.

Linear interpolation p = sum of weight x p_source; ``python -m bench.perplexity`` tunes the weights on
development talk by expectation maximisation (Jelinek and Mercer 1980). Pruning drops n-grams whose loss
raises the relative entropy least (Stolcke 1998, "Entropy-based pruning of backoff language models"), with
the history's probability taken from its own counts in the mixture.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from capture.vocabulary.ngrams import (
    END,
    START,
    Floats,
    Ints,
    Source,
    SourceModel,
    bigram_key,
    find,
    history_of,
    last_of,
    shorter,
    trigram_key,
)

_LEAST = 1e-9


@dataclass(frozen=True)
class BackOffModel:
    """A trigram back-off model: listed n-grams with probability, histories with their back-off weight."""

    words: tuple[str, ...]
    unigrams: Floats
    unigram_backoff: Floats
    bigram_keys: Ints
    bigrams: Floats
    bigram_backoff: Floats
    trigram_keys: Ints
    trigrams: Floats

    def log10_probability(self, text: Ints) -> Floats:
        """Return log10 p of every word of encoded text but START, in order."""
        first, second, third = triples_of(text)
        at3, has3 = find(self.trigram_keys, trigram_key(first, second, third))
        pair, tail = bigram_key(first, second), bigram_key(second, third)
        at2, has2 = find(self.bigram_keys, tail)
        at_history, has_history = find(self.bigram_keys, pair)
        one = self.unigrams[third] * self.unigram_backoff[second]
        two = np.where(has2, self.bigrams[at2], one)
        weight = np.where(has_history, self.bigram_backoff[at_history], 1.0)
        # The first word after <s> has no two-word history.
        three = np.where(first < 0, two, np.where(has3 & (first >= 0), self.trigrams[at3], weight * two))
        probability: Floats = np.log10(np.maximum(three, _LEAST**2))
        return probability

    def perplexity(self, text: Ints) -> float:
        """Return the perplexity of encoded text a word (line ends counted)."""
        return float(10 ** -self.log10_probability(text).mean())

    def arpa(self) -> bytes:
        """Return the model as an ARPA file (log10, natural back-off order)."""
        out = io.StringIO()
        out.write(f"\\data\\\nngram 1={len(self.words)}\nngram 2={len(self.bigram_keys)}\n")
        out.write(f"ngram 3={len(self.trigram_keys)}\n\n\\1-grams:\n")
        words = self.words
        log1, back1 = _log10(self.unigrams), _log10(self.unigram_backoff)
        log1[START] = -99.0
        out.write("".join(f"{p:.4f} {w} {b:.4f}\n" for p, w, b in zip(log1, words, back1, strict=True)))
        out.write("\n\\2-grams:\n")
        first, second = history_of(self.bigram_keys).tolist(), last_of(self.bigram_keys).tolist()
        log2, back2 = _log10(self.bigrams).tolist(), _log10(self.bigram_backoff).tolist()
        out.write("".join(
            f"{p:.4f} {words[u]} {words[v]} {b:.4f}\n"
            for p, u, v, b in zip(log2, first, second, back2, strict=True)
        ))  # fmt: skip
        out.write("\n\\3-grams:\n")
        pair = history_of(self.trigram_keys)
        out.write("".join(
            f"{p:.4f} {words[u]} {words[v]} {words[w]}\n"
            for p, u, v, w in zip(_log10(self.trigrams).tolist(), history_of(pair).tolist(),
                                  last_of(pair).tolist(), last_of(self.trigram_keys).tolist(), strict=True)
        ))  # fmt: skip
        out.write("\n\\end\\\n")
        return out.getvalue().encode("ascii")


def _log10(values: Floats) -> Floats:
    logs: Floats = np.log10(np.maximum(values, 1e-10))
    return logs


def triples_of(text: Ints) -> tuple[Ints, Ints, Ints]:
    """Return (first, second, third) for every word but START; first is -1 where it would cross a line."""
    third = text[1:]
    second = text[:-1]
    first = np.concatenate([[-1], text[:-2]])
    first = np.where(second == START, -1, first)
    inside = third != START
    return first[inside], second[inside], third[inside]


@dataclass(frozen=True)
class Weights:
    """How much each source counts, by how often one of them, the judge, has seen the words before.

    Where the templates know a history well, they know best what follows; where they never saw it, natural
    talk and everyday English do (generalized linear interpolation: Hsu 2007, "Generalized linear
    interpolation of language models").
    """

    words: tuple[float, ...]
    """Of the probability of a word alone; one a source, summing to one."""
    bigrams: tuple[tuple[float, ...], ...]
    """One row a level (see :func:`level_of`), the last one for all above."""
    trigrams: tuple[tuple[float, ...], ...]

    def table(self, rows: tuple[tuple[float, ...], ...], seen: Floats) -> Floats:
        """Return the weights for histories seen so often; shape (sources, histories)."""
        table: Floats = np.array(rows).T[:, np.minimum(level_of(seen), len(rows) - 1)]
        return table


def level_of(seen: Floats) -> Ints:
    """Return 0 for a history never seen, 1 up to 3 times, 2 up to 15 times, and so on."""
    levels: Ints = np.ceil(np.log2(seen + 1) / 2).astype(np.int64)
    return levels


def even_weights(weights: tuple[float, ...]) -> Weights:
    """Return weights that are the same for every history."""
    return Weights(weights, (weights,), (weights,))


def mix(
    sources: Sequence[Source],
    weights: Weights,
    words: Sequence[str],
    judge: SourceModel,
    *,
    prune: float = 0.0,
) -> BackOffModel:
    """Mix models of sources into one back-off model over ``words``.

    Args:
        sources: models over the same word numbers.
        weights: of the sources.
        words: the word of each number.
        judge: the source by which the weights go.
        prune: n-grams whose loss raises the relative entropy by less (nats, weighted by how likely
            the n-gram is) are dropped; 0 keeps all.
    """
    unigrams = sum_weighted([s.unigrams for s in sources], weights.words)
    bigram_keys = np.unique(np.concatenate([s.bigram_keys for s in sources]))
    trigram_keys = np.unique(np.concatenate([s.trigram_keys for s in sources]))
    # Every history of a triple is listed as a pair.
    bigram_keys = np.union1d(bigram_keys, history_of(trigram_keys))
    bigrams = sum_weighted(
        [s.bigram_probability(bigram_keys) for s in sources],
        weights.table(weights.bigrams, judge.bigrams.times_seen(history_of(bigram_keys))),
    )
    trigrams = sum_weighted(
        [s.trigram_probability(trigram_keys) for s in sources],
        weights.table(weights.trigrams, judge.trigrams.times_seen(history_of(trigram_keys))),
    )
    joint2 = unigrams[history_of(bigram_keys)] * bigrams
    joint2 = np.where(history_of(bigram_keys) == START, unigrams[END] * bigrams, joint2)
    if prune:
        at, _ = find(bigram_keys, history_of(trigram_keys))
        lower_at, has_lower = find(bigram_keys, shorter(trigram_keys))
        lower = np.where(has_lower, bigrams[lower_at], unigrams[last_of(trigram_keys)])
        gain = joint2[at] * trigrams * np.abs(np.log(trigrams) - np.log(np.maximum(lower, _LEAST)))
        keep = gain >= prune
        trigram_keys, trigrams = trigram_keys[keep], trigrams[keep]
        needed = np.union1d(history_of(trigram_keys), shorter(trigram_keys))
        gain2 = joint2 * np.abs(np.log(bigrams) - np.log(np.maximum(unigrams[last_of(bigram_keys)], _LEAST)))
        keep2 = (gain2 >= prune) | np.isin(bigram_keys, needed)
        bigram_keys, bigrams = bigram_keys[keep2], bigrams[keep2]
    return _backed_off(tuple(words), unigrams, bigram_keys, bigrams, trigram_keys, trigrams)


def sum_weighted(values: Sequence[Floats], weights: Sequence[float] | Floats) -> Floats:
    """Return the weighted sum of arrays of one shape; each weight is a number or of that shape."""
    total = np.zeros_like(values[0])
    for value, weight in zip(values, weights, strict=True):
        total += weight * value
    return total


def sum_by(groups: Ints, values: Floats, count: int) -> Floats:
    """Return the sum of the values of each group 0 to count - 1."""
    sums: Floats = np.bincount(groups, weights=values, minlength=count).astype(np.float64)
    return sums


def _backed_off(
    words: tuple[str, ...],
    unigrams: Floats,
    bigram_keys: Ints,
    bigrams: Floats,
    trigram_keys: Ints,
    trigrams: Floats,
) -> BackOffModel:
    size = len(words)
    first = history_of(bigram_keys)
    used = sum_by(first, bigrams, size)
    lower_used = sum_by(first, unigrams[last_of(bigram_keys)], size)
    unigram_backoff = _left_over(used, lower_used)

    at, found = find(bigram_keys, history_of(trigram_keys))
    if not found.all():
        raise AssertionError("every trigram's history is listed as a bigram")
    tail_at, tail_listed = find(bigram_keys, shorter(trigram_keys))
    middle = last_of(history_of(trigram_keys))
    lower = np.where(tail_listed, bigrams[tail_at], unigram_backoff[middle] * unigrams[last_of(trigram_keys)])
    count = len(bigram_keys)
    bigram_backoff = _left_over(sum_by(at, trigrams, count), sum_by(at, lower, count))
    return BackOffModel(
        words, unigrams, unigram_backoff, bigram_keys, bigrams, bigram_backoff, trigram_keys, trigrams
    )


def _left_over(used: Floats, lower_used: Floats) -> Floats:
    """Return the weight that makes a history's probabilities sum to one."""
    left: Floats = np.maximum(1.0 - used, _LEAST) / np.maximum(1.0 - lower_used, _LEAST)
    return left
