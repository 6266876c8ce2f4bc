"""Places that could not be measured: "three's twenty one and four i couldn't get a feeler in there".

The number before such words names the place and is no value. Where it also fits behind the number before
it ("three's thirty four i couldn't get in"), nobody can tell by the words, so that it is asked about.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from extract.number_words import ONES, TENS
from extract.numbers import is_number_word
from extract.quantity_arcs import Quantity, longest_quantity
from extract.tokens import Token

if TYPE_CHECKING:
    from extract.reading_drafts import ReadingDraft

_SPEAKERS = frozenset({"i", "we", "you", ",", "just"})
_UNABLE = frozenset({"couldn't", "can't", "cannot", "couldn", "couldnt", "cant", "wouldn't", "won't"})
_UNABLE_TWICE = (("could", "not"), ("can", "not"), ("could", "n't"), ("ca", "n't"), ("would", "n't"))
_REACHING = frozenset(
    {"get", "reach", "see", "measure", "fit", "read", "slide", "do", "check", "mic", "gauge"}
)
_REACH = 3
_JOINS = frozenset({"and", ",", ".", "then", "number", "but"})


def labels_out_of_reach(tokens: Sequence[Token]) -> Iterator[Quantity]:
    """Yield the numbers that name a place which could not be measured."""
    for i, token in enumerate(tokens):
        alone = token.norm in ONES or (token.norm.isdecimal() and len(token.norm) == 1)
        if alone and _behind_a_value(tokens, i) and _unable_at(tokens, i + 1):
            label = longest_quantity(tokens, i)
            if label is not None and label.end == i + 1:
                yield label


def _behind_a_value(tokens: Sequence[Token], i: int) -> bool:
    """Whether the value of another place ends before a label ("three's twenty one and four …")."""
    at = i - 1
    while at >= 0 and tokens[at].norm in _JOINS:
        at -= 1
    return 0 <= at < i - 1 and is_number_word(tokens[at])


def doubt_out_of_reach(tokens: Sequence[Token], drafts: Sequence[ReadingDraft]) -> None:
    """Ask where the last word of a value may name a place that could not be measured."""
    for draft in drafts:
        tens = draft.end - draft.start > 1 and tokens[draft.end - 2].norm in TENS
        if tens and tokens[draft.end - 1].norm in ONES and _unable_at(tokens, draft.end):
            draft.ask("its last word may name a place that could not be measured")


def _unable_at(tokens: Sequence[Token], at: int) -> bool:
    """Whether "i couldn't get …" begins at a token."""
    while at < len(tokens) and tokens[at].norm in _SPEAKERS:
        at += 1
    words = [token.norm for token in tokens[at : at + 2 + _REACH]]
    if words[:1] and words[0] in _UNABLE:
        rest = words[1:]
    elif tuple(words[:2]) in _UNABLE_TWICE:
        rest = words[2:]
    else:
        return False
    return not _REACHING.isdisjoint(rest[:_REACH])
