"""Make ``extract/recogniser_model`` anew: ``make train``, some four minutes on one core.

A small spaCy span categoriser on hashed embeddings, from a blank pipeline, on the examples of
``recogniser_examples.py``. Seeded: the same machine makes the same model.
"""

from __future__ import annotations

import sys
import time
from typing import Any

import spacy
from spacy.language import Language
from spacy.tokens import Span
from spacy.training import Example as SpacyExample
from thinc.api import Adam, NumpyOps, fix_random_seed, set_current_ops

from bench import everyday_words
from bench.recogniser_examples import Example, TrainingText, marked_line, marked_lines
from extract.recogniser import CONFIG, KEY, KNOWN_WORDS, LABELS, MODEL, WEIGHTS, document

#: Nothing of these is learnt from: two hands' lines to score on, and those that thresholds were chosen on.
HELD_OUT = ("held_out.txt", "held_out_other_hand.txt", "tuned_on.txt")
_PIPE = "spancat_singlelabel"
SEED = 7
ROUNDS = 5
_BATCH = 64
_LEARN_RATE, _LEAST_RATE = 0.002, 0.0001
_DROPPED = 0.2
#: Words that stand in any span and tell nothing.
SMALL_WORDS = frozenset(
    (
        "a",
        "all",
        "as",
        "at",
        "down",
        "gone",
        "had",
        "has",
        "have",
        "in",
        "is",
        "it",
        "its",
        "like",
        "of",
        "off",
        "on",
        "out",
        "over",
        "the",
        "to",
        "up",
    )
)


def held_out_words() -> frozenset[str]:
    """Return the words that training may never see: those of the held-out spans, small words apart."""
    held = [marked_line(line) for name in HELD_OUT for line in marked_lines(name)]
    words = {word for e in held for _, start, end in e.spans for word in e.words[start:end]}
    return frozenset(words - SMALL_WORDS)


def train(seed: int = SEED, rounds: int = ROUNDS) -> tuple[Language, frozenset[str]]:
    """Return the trained pipeline and the words that it knows."""
    fix_random_seed(seed)
    set_current_ops(NumpyOps())
    nlp = spacy.blank("en")
    pipe: Any = nlp.add_pipe(_PIPE, config=CONFIG)
    for label in LABELS:
        pipe.add_label(label)
    text = TrainingText(held_out_words())
    known = text.known_words()
    nlp.initialize(lambda: [_spacy_example(nlp, e, known) for e in text.examples(seed)[:200]])
    optimizer = Adam(_LEARN_RATE, L2=0.01, grad_clip=1.0)
    for n in range(rounds):
        started = time.perf_counter()
        losses: dict[str, float] = {}
        optimizer.learn_rate = _LEARN_RATE * (1 - n / rounds) + _LEAST_RATE
        examples = [_spacy_example(nlp, e, known) for e in text.examples(seed + n)]
        for at in range(0, len(examples), _BATCH):
            nlp.update(examples[at : at + _BATCH], sgd=optimizer, losses=losses, drop=_DROPPED)
        spent_s = time.perf_counter() - started
        print(
            f"round {n + 1} of {rounds}: {len(examples)} examples, loss {losses[_PIPE]:.0f}, {spent_s:.0f} s",
            flush=True,
        )
    return nlp, known


def main() -> int:
    """Train and write the model; return an exit status."""
    nlp, known = train()
    MODEL.mkdir(exist_ok=True)
    pipe: Any = nlp.get_pipe(_PIPE)
    pipe.model.to_disk(MODEL / WEIGHTS)
    (MODEL / KNOWN_WORDS).write_text("\n".join(sorted(known)) + "\n", encoding="utf-8")
    everyday_words.write()
    print(f"written to {MODEL}")
    return 0


def _spacy_example(nlp: Language, example: Example, known: frozenset[str]) -> SpacyExample:
    reference = document(nlp.vocab, example.words, known)
    reference.spans[KEY] = [Span(reference, start, end, label=label) for label, start, end in example.spans]
    return SpacyExample(document(nlp.vocab, example.words, known), reference)


if __name__ == "__main__":
    sys.exit(main())
