"""Hotwords for the neural engine: the sheet's words that everyday English does not have, rarest first.

Hotwords stand in the prompt of every window; too many leave no room for the answer, and none of them
is ever evidence that the word was said.
"""

from __future__ import annotations

from collections.abc import Iterable

from shared.job_sheet import JobSheet
from shared.lexicon import Lexicon

#: Near a hundred tokens; a word of a trade is about two tokens.
MOST_TOKENS = 100
_CHARACTERS_A_TOKEN = 3.5


def hotwords_of(sheet: JobSheet, lexicon: Lexicon, everyday: Iterable[str]) -> str:
    """Return the sheet's phrases that hold an uncommon word, one string parted by commas.

    Args:
        sheet: whose phrases.
        lexicon: whose consumables follow where there is room.
        everyday: common words, which need no help.
    """
    common = set(everyday)
    phrases = [*sheet.phrases(), *(form for forms in lexicon.consumables.values() for form in forms)]
    chosen: list[str] = []
    known: set[str] = set()
    room = float(MOST_TOKENS)
    for phrase in dict.fromkeys(phrases):
        fresh = {word for word in phrase.split() if word not in common and len(word) > 2} - known
        price = len(phrase) / _CHARACTERS_A_TOKEN + 1
        if fresh and price <= room:
            chosen.append(phrase)
            known |= fresh
            room -= price
    return ", ".join(chosen)
