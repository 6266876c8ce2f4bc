"""Entries that were struck by mistake, put back: "undo that strike", right behind it."""

from __future__ import annotations

from pathlib import Path

from extract.ledger import Ledger
from extract.talk_patterns import TalkPatterns, said_words
from shared.record import Entry, ReadingEntry

_WORDS = TalkPatterns(Path(__file__).with_suffix(".yaml"))
#: A strike is undone within so many utterances.
_HOLDS = 3


def asks_to_restore(text: str) -> bool:
    """Tell whether nothing else is said than that a strike is to be undone."""
    words = said_words(text)
    while n := _WORDS.leading("opens", words):
        words = words[n:]
    while words and not _WORDS.whole("restore", words) and (n := _WORDS.trailing("ends", words)):
        words = words[:-n]
    return bool(words) and _WORDS.whole("restore", words) is not None


def restore_struck(ledger: Ledger, number: int) -> None:
    """Put back what the last strike struck, where that was lately.

    Args:
        ledger: of the record.
        number: of the utterance that asks for it.
    """
    strikes = [event for event in ledger.events if event.event == "strike_last"]
    if not strikes or number - strikes[-1].evidence.utterance > _HOLDS:
        return
    struck = [entry for entry in ledger.entries if entry.superseded_by == strikes[-1].id]
    for entry in struck:
        if not _taken(ledger, entry):
            ledger.put_back(entry)


def _taken(ledger: Ledger, entry: Entry) -> bool:
    """Whether another reading stands at its place by now."""
    return isinstance(entry, ReadingEntry) and (
        ledger.standing_reading(entry.item, entry.position, entry.stage) is not None
    )
