"""How well each development job's own language model expects what is said in it.

``python -m bench.perplexity`` prints the perplexity of the compiled models: of all words (line ends
counted), of number words and of the others. ``--tune`` prints the weights of the sources under which
the talk of all jobs is likeliest, for ``capture/vocabulary/language_model.py``; a figure so tuned is a
little too good, so it also prints what comes of weights that were tuned on the other jobs.
A word that the model does not know is left out and counted.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass

import numpy as np

from bench.speech_jobs import SpokenJob, development_jobs
from capture.vocabulary.general_model import read_general_model
from capture.vocabulary.language_model import COPIES, build_language_model, sources_of, train_sources
from capture.vocabulary.mixture import Weights, level_of, triples_of
from capture.vocabulary.ngrams import Floats, Ints, WordNumbers, bigram_key, trigram_key
from capture.vocabulary.spoken_numbers import NUMBER_WORDS
from capture.vocabulary.spoken_words import dictionary_words
from shared.lexicon import load_lexicon

_ROUNDS = 60
_TOP_LEVEL = 5


@dataclass(frozen=True)
class Expected:
    """The words of one job and what each source gave to them."""

    unigrams: Floats
    """Probability by each source; shape (sources, words)."""
    bigrams: Floats
    trigrams: Floats
    level1: Ints
    """How well the judge knows the word before."""
    level2: Ints
    """How well it knows the two words before."""
    numbers: Ints
    """1 for a number word."""


def encoded(job: SpokenJob, known: WordNumbers) -> tuple[Ints, int]:
    """Return a job's lines as word numbers, and how many of its words are unknown and left out."""
    lines = [dictionary_words(line.text) for line in job.lines]
    unknown = sum(word not in known for line in lines for word in line)
    return known.encode([[word for word in line if word in known] for line in lines]), unknown


def is_number(words: Ints, known: WordNumbers) -> Ints:
    """Return 1 for each number word."""
    return np.array([known.words[word] in NUMBER_WORDS for word in words.tolist()], np.int64)


def expected(job: SpokenJob) -> Expected:
    """Train the sources of a job's sheet and look its words up in them."""
    known, models, judge = train_sources(sources_of(job.sheet, load_lexicon()), COPIES, read_general_model())
    text, _ = encoded(job, known)
    first, second, third = triples_of(text)
    pairs = bigram_key(second, third)
    triples = trigram_key(np.maximum(first, 0), second, third)
    bigrams = np.stack([model.bigram_probability(pairs) for model in models])
    trigrams = np.stack([model.trigram_probability(triples) for model in models])
    known1 = judge.bigrams.times_seen(second)
    known2 = judge.trigrams.times_seen(bigram_key(np.maximum(first, 0), second))
    whole = first >= 0  # the first word of a line has one word before it only
    return Expected(
        np.stack([model.unigrams[third] for model in models]),
        bigrams,
        np.where(whole, trigrams, bigrams),
        np.minimum(level_of(known1), _TOP_LEVEL),
        np.minimum(level_of(np.where(whole, known2, known1)), _TOP_LEVEL),
        is_number(third, known),
    )


def likeliest(table: Floats) -> tuple[float, ...]:
    """Return weights, summing to one, under which the words of a table are likeliest (EM from even ones)."""
    weights = np.full(len(table), 1 / len(table))
    for _ in range(_ROUNDS):
        share = weights[:, None] * table
        share /= np.maximum(share.sum(axis=0), 1e-30)
        weights = share.mean(axis=1)
    return tuple(round(float(weight), 3) for weight in weights)


def tuned(jobs: list[Expected]) -> Weights:
    """Return the likeliest weights of every level."""

    def rows(tables: list[Floats], levels: list[Ints]) -> tuple[tuple[float, ...], ...]:
        table, level = np.concatenate(tables, axis=1), np.concatenate(levels)
        return tuple(likeliest(table[:, level == at]) for at in range(_TOP_LEVEL + 1))

    return Weights(
        likeliest(np.concatenate([job.unigrams for job in jobs], axis=1)),
        rows([job.bigrams for job in jobs], [job.level1 for job in jobs]),
        rows([job.trigrams for job in jobs], [job.level2 for job in jobs]),
    )


def tune(jobs: list[SpokenJob]) -> None:
    """Print the weights tuned on all jobs, and the perplexity of each job under those of the others."""
    tables = [expected(job) for job in jobs]
    weights = tuned(tables)
    print(f"words    {weights.words}")
    for name, rows in (("bigrams", weights.bigrams), ("trigrams", weights.trigrams)):
        print(name, *rows, sep="\n  ")
    logs = []
    for at, table in enumerate(tables):
        others = tuned(tables[:at] + tables[at + 1 :])
        chance = (np.array(others.trigrams).T[:, table.level2] * table.trigrams).sum(axis=0)
        logs.append(np.log10(chance))
    _print("others' weights", np.concatenate(logs), np.concatenate([t.numbers for t in tables]))


def measure(jobs: list[SpokenJob]) -> None:
    """Print the perplexity of each job's talk under its compiled model."""
    all_logs, all_numbers = [], []
    for job in jobs:
        model = build_language_model(job.sheet, load_lexicon())
        known = WordNumbers(model.words[2:])
        text, unknown = encoded(job, known)
        logs, numbers = model.log10_probability(text), is_number(triples_of(text)[2], known)
        _print(job.name, logs, numbers, f" {unknown} unknown, {len(model.trigrams)} trigrams")
        all_logs.append(logs)
        all_numbers.append(numbers)
    _print("all", np.concatenate(all_logs), np.concatenate(all_numbers))


def _print(name: str, logs: Floats, numbers: Ints, more: str = "") -> None:
    every, of_numbers, others = (
        float(10 ** -part.mean()) for part in (logs, logs[numbers == 1], logs[numbers == 0])
    )
    print(f"{name:24} {every:6.2f}  numbers {of_numbers:6.2f}  others {others:6.2f}{more}", flush=True)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tune", action="store_true")
    (tune if parser.parse_args().tune else measure)(development_jobs())
