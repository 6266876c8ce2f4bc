"""A text longer than anybody says in one breath, cut into pieces that are read one after another.

An engine's utterance ends with a pause, after half a minute at the latest; a text may hold a hundred thousand
words without an end. Much of the reading looks at every word beside every other, so that its work grows with
the square of the words: pieces keep it in proportion, and the evidence of an entry short enough to read.
"""

from __future__ import annotations

from collections.abc import Iterator

from extract.tokens import tokenize

#: So many characters are never cut; tokens are not even counted.
_SHORT = 1500
#: So many tokens are read in one piece; two minutes of quick speech.
_MOST = 400
#: A piece ends with a sentence where one ends within its last so many tokens.
_REACH = 150
_STOPS = frozenset(".?!;")


def breaths(text: str) -> Iterator[str | None]:
    """Yield the pieces of a text, in order; None, once, for a text that is read as a whole."""
    if len(text) <= _SHORT:
        yield None
        return
    tokens = tokenize(text)
    if len(tokens) <= _MOST:
        yield None
        return
    start = 0
    while start < len(tokens):
        end = min(start + _MOST, len(tokens))
        if end < len(tokens):
            stops = (i for i in range(end - 1, end - _REACH, -1) if tokens[i].norm in _STOPS)
            end = next(stops, end - 1) + 1
        yield text[tokens[start].start : tokens[end - 1].end]
        start = end
