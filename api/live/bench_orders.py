"""What is said to the tool beside the record's commands: what is left; and that the pump goes together."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Literal

from extract.heard import Heard
from extract.talk_patterns import TalkPatterns, said_words

Order = Literal["left", "closing", "opened"]

_TALK = TalkPatterns(Path(__file__).with_suffix(".yaml"))
#: Clauses in which nothing is done now.
_NOT_NOW = frozenset({"conditional", "elsewhere", "question"})


def order_in(pieces: Sequence[Heard]) -> Order | None:
    """Return what an utterance tells the tool, as the bench says it; None for all other talk.

    Args:
        pieces: the utterance as it was read, outside pauses.
    """
    for piece in pieces:
        if asks_what_is_left(piece.utterance.text):
            return "left"
    for piece in pieces:
        for clause in piece.clauses:
            if clause.mood in _NOT_NOW:
                continue
            words = said_words(piece.words(clause.start, clause.end))
            for order in ("opened", "closing"):
                if _said_now(order, words):
                    return "opened" if order == "opened" else "closing"
    return None


def asks_what_is_left(text: str) -> bool:
    """Tell whether nothing else is said than "what's left"."""
    words = said_words(text)
    while n := _TALK.leading("opens", words):
        words = words[n:]
    while words and not _TALK.whole("left", words) and (n := _TALK.trailing("ends", words)):
        words = words[:-n]
    return bool(words) and _TALK.whole("left", words) is not None


def _said_now(order: str, words: Sequence[str]) -> bool:
    found = _TALK.anywhere(order, words)
    if found is None:
        return False
    behind = found.string[found.end() :].split()
    while n := _TALK.leading("together_ends", behind):
        behind = behind[n:]
    before = found.string[: found.start()].split()
    return not behind and _TALK.anywhere("not_now", before) is None
