"""The language model of one sheet: which texts go into it, how much of each, how they are mixed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from random import Random

from capture.vocabulary.general_model import GeneralModel, GeneralSource, read_general_model
from capture.vocabulary.mixture import BackOffModel, mix
from capture.vocabulary.narration import template_lines
from capture.vocabulary.natural import natural_lines, refilled_lines
from capture.vocabulary.ngrams import Source, WordNumbers, train_source
from capture.vocabulary.slots import SheetWords
from capture.vocabulary.spoken_words import dictionary_words
from shared.job_sheet import JobSheet
from shared.lexicon import Lexicon

SEED = 11
TEMPLATE_LINES = 16_000
REFILLS = 4
#: Weights of (natural as written, natural refilled, templates, everyday English): the mean over development
#: jobs of those under which each one's talk is likeliest (``mixture.tune_weights``).
WEIGHTS = (0.36, 0.19, 0.30, 0.15)
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
    texts: Iterable[list[list[str]]], general: GeneralModel | None
) -> tuple[WordNumbers, list[Source]]:
    """Number the words of all sources and train a model on each; everyday English comes last."""
    numbers = WordNumbers()
    encoded = [numbers.encode(text) for text in texts]
    for word in general.common if general else ():
        numbers.number(word)
    models: list[Source] = [train_source(text, len(numbers)) for text in encoded]
    if general is not None:
        models.append(GeneralSource(general, numbers))
    return numbers, models


def build_language_model(sheet: JobSheet, lexicon: Lexicon) -> BackOffModel:
    """Return the mixed model of a sheet."""
    numbers, models = train_sources(sources_of(sheet, lexicon), read_general_model())
    return mix(models, WEIGHTS, numbers.words, prune=PRUNE)


def build_template_model(sheet: JobSheet, lexicon: Lexicon) -> BackOffModel:
    """Return a model of templates alone: what the mixture is measured against."""
    numbers, models = train_sources(sources_of(sheet, lexicon)[2:], None)
    return mix(models, (1.0,), numbers.words, prune=PRUNE)
