"""Words that tell of an item without naming it: "air test … ten minutes" tells of the test time."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from extract.mentions import Mention, Mentions
from extract.sheet_phrases import STEM, item_forms
from extract.tokens import Token
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.units import KIND_OF_UNIT

_GLUE = word_set("bench_words.glue")
_SHORTEST = 4
#: What else is under pressure; beside these words nothing tells of a test.
NOT_TESTED = frozenset({"grease", "tyre", "tyres", "tire", "tires", "steam", "gun"})
#: What is said of a test under pressure ("held ten bar for half an hour").
UNDER_PRESSURE = frozenset({"held", "hold", "holding", "tested", "pumped", "hydro"})
_MEASURING = word_set("item_words.measuring")
_MEASURING_IT = word_set("item_words.measuring_it")
#: Between the verb and the part that it measures ("mic'd up the old sleeve").
_BETWEEN = frozenset({"the", "this", "that", "my", "our", "up", "on", "old", "'d", "a", "over", "across"})
_VERB_REACH = 4


def telling_words(sheet: JobSheet) -> Mapping[str, frozenset[str]]:
    """Return for each item the words of its names that mean something by themselves, in the singular."""
    told = {
        item: said_words(word for form in forms for word in form.split())
        for item, forms in item_forms(sheet).items()
    }
    under_pressure = {
        reading.item
        for reading in sheet.readings
        if KIND_OF_UNIT[reading.unit] == "pressure" and "test" in told[reading.item]
    }
    return {item: words | UNDER_PRESSURE if item in under_pressure else words for item, words in told.items()}


def said_in(norms: Sequence[str]) -> frozenset[str]:
    """Return the telling words of what was said, of a test under pressure where nothing else is filled."""
    said = said_words(norms)
    if NOT_TESTED.isdisjoint(norms):
        return said | UNDER_PRESSURE.intersection(norms)
    return said - UNDER_PRESSURE


def said_words(words: Iterable[str]) -> frozenset[str]:
    """Return telling words in the singular; "hydrotest" tells of a test as well."""
    found = {word.removesuffix("s") for word in words if len(word) >= _SHORTEST and word not in _GLUE}
    found |= {word[:-3] for word in found if word.endswith("pped")}
    return frozenset(found | {"test" for word in found if word.endswith("test")})


def measured_by_verb(tokens: Sequence[Token], mention: Mention) -> bool:
    """Whether only the part is named and a verb says that it is measured.

    It stands behind the part or before it ("sleeve mikes one eight …", "i miked the sleeve at one eight …").
    """
    if mention.cost < STEM:
        return False
    if mention.end < len(tokens) and tokens[mention.end].norm in _MEASURING:
        return True
    at = mention.start - 1
    while at >= 0 and mention.start - at <= _VERB_REACH and tokens[at].norm in _BETWEEN:
        at -= 1
    return at >= 0 and tokens[at].norm in _MEASURING_IT


def names_item(tokens: Sequence[Token], mention: Mention, mentions: Mentions) -> bool:
    """Whether words that may name an item do, with no value said: not by its part alone, nor a consumable."""
    if mention.cost >= STEM and not measured_by_verb(tokens, mention):
        return False
    return not any(m.start == mention.start and m.end == mention.end for m in mentions.of("consumable"))
