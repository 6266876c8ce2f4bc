"""What may be kept of an utterance: not a word of chatter, nor of what is said in a pause."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from shared.speech import Utterance

#: Stands where words were taken out, so that what is left is not read as said in one breath.
_GAP = " . "


def open_part(utterance: Utterance, stretches: Sequence[str], instead: str = "") -> Utterance:
    """Return the utterance with only those of its words that may be kept.

    Times, confidence and job score stay. Other hearings and single words go as soon as anything goes:
    they may hold what the text no longer does.

    Args:
        utterance: as heard.
        stretches: what may be kept of its text, in order; none: nothing.
        instead: kept for all of it: a command that only another hearing has, or a mark.
    """
    if instead:
        return replace(utterance, text=instead, words=(), alternatives=())
    if list(stretches) == [utterance.text]:
        return utterance
    return replace(utterance, text=_joined(utterance.text, stretches), words=(), alternatives=())


def _joined(text: str, stretches: Sequence[str]) -> str:
    kept, at = "", 0
    for stretch in stretches:
        begin = text.index(stretch, at)
        between = text[at:begin]
        kept += (_GAP if between.strip() else between) + stretch if kept else stretch
        at = begin + len(stretch)
    return kept
