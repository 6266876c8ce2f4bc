"""Small words that sound like numbers: "vane one to eighty" may have been "vane one two eighty".

An engine chooses between the two by what is usual in its texts, and is sure of itself either way; only
where the word would be idle does the number stand a chance.
"""

from __future__ import annotations

from collections.abc import Iterator

from extract.heard import Heard
from extract.number_words import NUMBER_WORDS
from extract.position_twins import twins
from extract.word_sets import word_set

#: After these a value comes, and no "to" or "for".
_VALUE_COMES = word_set("homophones.value_comes")


def homophone_hearings(heard: Heard) -> Iterator[str]:
    """Yield the utterance with one small word read as the number that it sounds like.

    Only where the word stands between a place or a copula and a number: "torqued to seventy", "impeller
    bolt to seventy" and "heated to two twenty" need theirs.
    """
    places = {m.end for m in heard.mentions.of("position")}
    for i, token in enumerate(heard.tokens[:-1]):
        number = twins("same").get(token.norm)
        if number is None or i == 0 or not _is_number(heard.tokens[i + 1].norm):
            continue
        if i in places or heard.tokens[i - 1].norm in _VALUE_COMES:
            text = heard.utterance.text
            yield f"{text[: token.start]}{number}{text[token.end :]}"


def _is_number(norm: str) -> bool:
    return norm in NUMBER_WORDS or norm[:1].isdigit()
