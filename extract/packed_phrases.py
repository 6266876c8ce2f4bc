"""Phrases by their words, packed: a hundred bytes a phrase, where objects of their own take four hundred.

What says how something is meant is spelled out of templates, so that it is many phrases, hardly one of which
is ever heard. As objects of their own they would be most of the memory of every process that reads, and be
copied by each that is forked as soon as it looked at them; three plain arrays all of them share.
"""

from __future__ import annotations

from array import array
from bisect import bisect_left
from collections.abc import Iterable, Sequence

import numpy as np

from extract.sheet_phrases import Phrase

#: Behind each of a phrase's words, its kind, key and form; no word has it.
_END = "\t"
#: Behind each phrase.
_LAST = b"\n"


class PackedPhrases:
    """Finds phrases of no cost by their words, in the order in which they were given.

    Args:
        phrases: each with a cost of 0.
    """

    def __init__(self, phrases: Iterable[Phrase]) -> None:
        hashes, starts, text = array("q"), array("Q"), bytearray()
        for phrase in phrases:
            if phrase.cost:
                raise ValueError(f"a phrase that costs something cannot be packed: {phrase.form}")
            hashes.append(hash(phrase.words))
            starts.append(len(text))
            spoken = " ".join(phrase.words)
            form = "" if phrase.form == spoken else phrase.form
            text += _END.join((spoken, phrase.kind, phrase.key, form)).encode() + _LAST
        # Those of the same words stay in their order.
        order = np.argsort(np.asarray(hashes, np.int64), kind="stable")
        self._hashes = array("q", np.asarray(hashes, np.int64)[order].tobytes())
        self._starts = array("Q", np.asarray(starts, np.uint64)[order].tobytes())
        self._text = bytes(text)

    def get(self, words: Sequence[str]) -> list[Phrase] | None:
        """Return the phrases of these very words, or None."""
        line = tuple(words)
        wanted, spoken = hash(line), " ".join(line)
        at = bisect_left(self._hashes, wanted)
        found = []
        while at < len(self._hashes) and self._hashes[at] == wanted:
            start = self._starts[at]
            known, kind, key, form = self._text[start : self._text.index(_LAST, start)].decode().split(_END)
            if known == spoken:
                found.append(Phrase(kind, key, line, form or spoken, 0.0))
            at += 1
        return found or None
