"""The language model of one sheet: which texts go into it, how much of each, how they are mixed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from random import Random

from capture.vocabulary.general_model import GeneralModel, GeneralSource, read_general_model
from capture.vocabulary.mixture import BackOffModel, Weights, even_weights, mix
from capture.vocabulary.narration import template_lines
from capture.vocabulary.natural import refilled_lines
from capture.vocabulary.natural_text import natural_lines
from capture.vocabulary.ngrams import Source, SourceModel, WordNumbers, train_source
from capture.vocabulary.slots import SheetWords
from capture.vocabulary.spoken_words import dictionary_words
from shared.job_sheet import JobSheet
from shared.lexicon import Lexicon

SEED = 11
TEMPLATE_LINES = 16_000
REFILLS = 2
#: How many times over each source of text says the same.
COPIES = (1, REFILLS, 1)
#: Weights of (natural as written, natural refilled, templates, everyday English), by how well the templates
#: know the history: those under which the talk of the development jobs is likeliest
#: (``python -m bench.perplexity --tune``).
WEIGHTS = Weights(
    words=(0.25, 0.27, 0.38, 0.10),
    bigrams=(
        (0.66, 0.03, 0.01, 0.30),
        (0.60, 0.18, 0.04, 0.18),
        (0.56, 0.23, 0.05, 0.16),
        (0.58, 0.15, 0.16, 0.11),
        (0.26, 0.44, 0.24, 0.06),
        (0.22, 0.39, 0.35, 0.04),
    ),
    trigrams=(
        (0.53, 0.21, 0.05, 0.21),
        (0.42, 0.36, 0.15, 0.07),
        (0.33, 0.37, 0.23, 0.07),
        (0.36, 0.29, 0.32, 0.03),
        (0.24, 0.42, 0.33, 0.01),
        (0.06, 0.46, 0.44, 0.04),
    ),
)
PRUNE = 3e-8
_JOINED_SHARE = 0.15


def sources_of(
    sheet: JobSheet, lexicon: Lexicon, natural: Sequence[str] | None = None
) -> tuple[list[list[str]], ...]:
    """Return the lines (lists of dictionary words) of the three sources of text for one sheet."""
    words = SheetWords(sheet, lexicon, Random(SEED))  # noqa: S311  not for secrets
    written = [dictionary_words(line) for line in (natural_lines() if natural is None else natural)]
    refilled = [dictionary_words(line) for line in refilled_lines(words, REFILLS)]
    templates = [dictionary_words(line) for line in template_lines(words, TEMPLATE_LINES)]
    return (
        _some_joined(written, words.rng),
        _some_joined(refilled, words.rng),
        _some_joined(templates, words.rng),
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


def train_sources(
    texts: Sequence[list[list[str]]], copies: Sequence[int], general: GeneralModel
) -> tuple[WordNumbers, list[Source], SourceModel]:
    """Number the words of all sources and train a model on each.

    Args:
        texts: of each source, lines of words.
        copies: how many times over each one says the same.
        general: everyday English, the last source.

    Returns:
        the numbers, all sources, and the last but one, which judges (see :func:`mixture.mix`).
    """
    numbers = WordNumbers()
    encoded = [numbers.encode(text) for text in texts]
    for word in general.common:
        numbers.number(word)
    own = [train_source(text, len(numbers), times) for text, times in zip(encoded, copies, strict=True)]
    return numbers, [*own, GeneralSource(general, numbers)], own[-1]


def build_language_model(sheet: JobSheet, lexicon: Lexicon) -> BackOffModel:
    """Return the mixed model of a sheet."""
    numbers, models, templates = train_sources(sources_of(sheet, lexicon), COPIES, read_general_model())
    return mix(models, WEIGHTS, numbers.words, templates, prune=PRUNE)


def build_template_model(sheet: JobSheet, lexicon: Lexicon) -> BackOffModel:
    """Return a model of templates alone: what the mixture is measured against."""
    numbers = WordNumbers()
    encoded = numbers.encode(sources_of(sheet, lexicon)[-1])
    templates = train_source(encoded, len(numbers))
    return mix([templates], even_weights((1.0,)), numbers.words, templates, prune=PRUNE)
