"""The trained recogniser: parts, findings, actions and measures by their company, in words that no list has.

A span categoriser of spaCy on hashed embeddings, trained by ``make train`` from text written for this
project. It gives spans with a confidence; what may become of them the rules decide.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from spacy.tokens import Doc
from spacy.util import registry
from spacy.vocab import Vocab

from extract.pipeline import english

#: Where weights and words lie.
MODEL = Path(__file__).with_name("recogniser_model")
LABELS = ("PART", "CONDITION", "ACTION", "MEASURE")
#: Name of the group of spans in a document of the library.
KEY = "learnt"
WEIGHTS, KNOWN_WORDS = "weights.bin", "known_words.txt"
_UNKNOWN = "unknown"
#: Stands for what is no English word.
_SIGN = "?"
_WIDTH, _LONGEST = 64, 5
#: A part is told of from this share on, even where nothing at all is likelier: enough to doubt by.
LEAST_HINT = 0.2
#: Settings of the library's ``spancat_singlelabel``.
CONFIG: dict[str, Any] = {
    "spans_key": KEY,
    "negative_weight": 1.0,
    "allow_overlap": False,
    "suggester": {"@misc": "spacy.ngram_suggester.v1", "sizes": list(range(1, _LONGEST + 1))},
    "model": {
        "@architectures": "spacy.SpanCategorizer.v1",
        "scorer": {"@layers": "Softmax.v2"},
        "reducer": {"@layers": "spacy.mean_max_reducer.v1", "hidden_size": _WIDTH},
        "tok2vec": {
            "@architectures": "spacy.Tok2Vec.v2",
            "embed": {
                "@architectures": "spacy.MultiHashEmbed.v2",
                "width": _WIDTH,
                "attrs": ["NORM", "PREFIX", "SUFFIX"],
                "rows": [2500, 500, 1000],
                "include_static_vectors": False,
            },
            "encode": {
                "@architectures": "spacy.MaxoutWindowEncoder.v2",
                "width": _WIDTH,
                "window_size": 1,
                "maxout_pieces": 2,
                "depth": 4,
            },
        },
    },
}


def document(vocab: Vocab, words: Sequence[str], known: frozenset[str]) -> Doc:
    """Return a document in which all words that training talk seldom says look alike but for their ends."""
    doc = Doc(vocab, words=[word if word.isascii() and word else _SIGN for word in words])
    for token in doc:
        if token.text not in known and token.text.isalpha():
            token.norm_ = _UNKNOWN
    return doc


@dataclass(frozen=True, slots=True)
class Learnt:
    """A span that the recogniser found: tokens ``start`` to before ``end``."""

    label: str
    start: int
    end: int
    confidence: float
    """0 to 1: the model's own share for the label; above 0.5 the likeliest."""


class Recogniser:
    """Finds spans in the words of an utterance."""

    def __init__(self) -> None:
        self._vocab = english().vocab
        self._known = frozenset((MODEL / KNOWN_WORDS).read_text(encoding="utf-8").split())
        resolved = registry.resolve({"model": CONFIG["model"], "suggester": CONFIG["suggester"]})
        self._suggest = resolved["suggester"]
        self._model = resolved["model"].from_disk(MODEL / WEIGHTS)

    def find(self, words: Sequence[str]) -> list[Learnt]:
        """Return spans that do not overlap, in order; the surest first choice wins. Of parts hints, too."""
        if not words:
            return []
        doc = document(self._vocab, words, self._known)
        spans = self._suggest([doc], ops=self._model.ops)
        scores = self._model.predict(([doc], spans))
        found = []
        for (start, end), row in zip(spans.dataXd, scores, strict=True):
            at = int(row[:-1].argmax())
            if row[at] > row[-1] or (LABELS[at] == "PART" and row[at] >= LEAST_HINT):
                found.append(Learnt(LABELS[at], int(start), int(end), float(row[at])))
        chosen: list[Learnt] = []
        for span in sorted(found, key=lambda s: (-s.confidence, s.start, s.end)):
            if not any(span.start < o.end and o.start < span.end for o in chosen):
                chosen.append(span)
        return sorted(chosen, key=lambda s: s.start)


@lru_cache(maxsize=1)
def recogniser() -> Recogniser:
    """Return the recogniser, loaded once."""
    return Recogniser()
