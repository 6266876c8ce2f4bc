"""Words that tell of an item without naming it: "air test … ten minutes" tells of the test time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from extract.mentions import Mention
from extract.sheet_phrases import STEM, item_forms
from extract.tokens import Token
from extract.word_sets import word_set
from shared.job_sheet import JobSheet

_GLUE = word_set("bench_words.glue")
_SHORTEST = 4
_MEASURING = word_set("item_words.measuring")


def telling_words(sheet: JobSheet) -> Mapping[str, frozenset[str]]:
    """Return for each item the words of its names that mean something by themselves, in the singular."""
    return {
        item: said_words(word for form in forms for word in form.split())
        for item, forms in item_forms(sheet).items()
    }


def said_words(words: Iterable[str]) -> frozenset[str]:
    """Return telling words in the singular; "hydrotest" tells of a test as well."""
    found = {word.removesuffix("s") for word in words if len(word) >= _SHORTEST and word not in _GLUE}
    return frozenset(found | {"test" for word in found if word.endswith("test")})


def measured_by_verb(tokens: Sequence[Token], mention: Mention) -> bool:
    """Whether only the part is named and a verb says that it is measured ("sleeve mikes one eight …")."""
    behind = tokens[mention.end].norm if mention.end < len(tokens) else ""
    return mention.cost >= STEM and behind in _MEASURING
