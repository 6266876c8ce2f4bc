"""The language model of one sheet: which texts go into it, how much of each, how they are mixed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from random import Random

from capture.vocabulary.mixture import BackOffModel, mix
from capture.vocabulary.narration import TEXT_DIR, template_lines
from capture.vocabulary.natural import natural_lines, refilled_lines
from capture.vocabulary.ngrams import Ints, SourceModel, WordNumbers, train_source
from capture.vocabulary.slots import SheetWords
from capture.vocabulary.spoken_words import dictionary_words
from shared.job_sheet import JobSheet
from shared.lexicon import Lexicon

SEED = 11
TEMPLATE_LINES = 16_000
REFILLS = 4
#: Weights of (natural as written, natural refilled, templates, everyday English); see bench/speech.py.
WEIGHTS = (0.60, 0.17, 0.18, 0.05)
PRUNE = 2e-8
_JOINED_SHARE = 0.15


@cache
def general_lines() -> tuple[list[str], ...]:
    """Return the sample of everyday English as lists of words."""
    text = (TEXT_DIR / "general.txt").read_text(encoding="ascii")
    return tuple(line.split() for line in text.splitlines() if line and not line.startswith("#"))


def sources_of(
    sheet: JobSheet, lexicon: Lexicon, natural: Sequence[str] | None = None
) -> tuple[list[list[str]], ...]:
    """Return the lines (lists of dictionary words) of the four sources for one sheet."""
    words = SheetWords(sheet, lexicon, Random(SEED))  # noqa: S311  not for secrets
    written = [dictionary_words(line) for line in (natural_lines() if natural is None else natural)]
    refilled = [dictionary_words(line) for line in refilled_lines(words, REFILLS)]
    templates = [dictionary_words(line) for line in template_lines(words, TEMPLATE_LINES)]
    return (
        _some_joined(written, words.rng),
        _some_joined(refilled, words.rng),
        _some_joined(templates, words.rng),
        list(general_lines()),
    )


def _some_joined(lines: Iterable[list[str]], rng: Random) -> list[list[str]]:
    """Join some lines with the one after: people do not always pause between two sentences."""
    joined: list[list[str]] = []
    for line in lines:
        if joined and rng.random() < _JOINED_SHARE:
            joined[-1] = joined[-1] + line
        elif line:
            joined.append(line)
    return joined


def train_sources(sources: Iterable[list[list[str]]]) -> tuple[WordNumbers, list[Ints], list[SourceModel]]:
    """Number the words of all sources and train a model on each."""
    numbers = WordNumbers()
    texts = [numbers.encode(source) for source in sources]
    return numbers, texts, [train_source(text, len(numbers)) for text in texts]


def build_language_model(
    sheet: JobSheet, lexicon: Lexicon, weights: Sequence[float] = WEIGHTS
) -> BackOffModel:
    """Return the mixed model of a sheet; words of sources without weight are not in it."""
    sources = [
        source if weight else [] for source, weight in zip(sources_of(sheet, lexicon), weights, strict=True)
    ]
    numbers, _, models = train_sources(sources)
    return mix(models, weights, numbers.words, prune=PRUNE)
