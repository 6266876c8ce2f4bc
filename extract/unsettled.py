"""Sure readings that what was said later leaves open, until somebody answers.

A value measured again, and the second time not heard surely, is no longer known: the doubtful reading
takes its place and asks with both values. Where a round was measured again and it was not understood
at which places, all that stood for the item is asked about.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from extract.heard import Heard
from extract.ledger import Ledger
from extract.reading_drafts import ReadingDraft, value_candidate
from extract.word_sets import phrase_set
from shared.record import ReadingEntry

_ONCE_MORE = phrase_set("readings.once_more")
AGAIN = "measured again, and that was not understood"


def says_again(heard: Heard) -> bool:
    """Whether the words say outright that something was measured once more; "now" alone does not."""
    return any(m.form in _ONCE_MORE or m.form.startswith("re") for m in heard.mentions.cues("again"))


def unsettles(draft: ReadingDraft, entry: ReadingEntry, standing: ReadingEntry) -> bool:
    """Whether a doubtful reading leaves the sure one at its place open; then it asks with both values.

    Not where the only value that it may have is the one that stands.
    """
    if not draft.unsettles or standing.value_exact is None:
        return False
    offered = {c.value_exact for c in entry.candidates if c.value_exact is not None}
    offered |= {entry.value_exact} if entry.value_exact is not None else set()
    return offered != {standing.value_exact}


def offer_both(entry: ReadingEntry, standing: ReadingEntry) -> None:
    """Let the question of a doubtful reading name its own values and the one that it leaves open."""
    for text in (entry.value_exact, standing.value_exact):
        known = {c.value_exact for c in entry.candidates}
        if text is not None and text not in known:
            entry.candidates.append(value_candidate(Fraction(text), entry.unit))
    entry.value, entry.value_exact = None, None


def unsettle_round(heard: Heard, ledger: Ledger, filed: Sequence[ReadingEntry]) -> None:
    """Ask about what stands for an item that was measured again at places that were not understood."""
    if not says_again(heard):
        return
    for entry in filed:
        if not entry.needs_review or entry.position is not None or not entry.standing:
            continue
        for standing in list(ledger.readings()):
            same = standing.item == entry.item and standing.stage == entry.stage
            if not same or standing.position is None or standing in filed:
                continue
            if standing.standing and not standing.needs_review and standing.value_exact is not None:
                _ask_about(standing)
                ledger.changed[standing.id] = None


def _ask_about(standing: ReadingEntry) -> None:
    standing.needs_review, standing.reason, standing.verdict = True, AGAIN, "undecided"
    standing.candidates = [value_candidate(Fraction(standing.value_exact or 0), standing.unit)]
