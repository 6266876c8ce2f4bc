"""The sound of what was not said about the job, silenced: a new journal in place of the old one.

What is kept is known from what was kept of the words: where no word was kept there is silence afterwards.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

import numpy as np

from api.heard_journal import kept_talk
from api.listening import HEARD_JOURNAL, SOUND_JOURNAL
from capture.sound_blocks import RATE_HZ
from capture.sound_journal import SoundJournal, read_sound_journal
from shared.speech import Utterance

#: Seconds before and after a kept word that stay: less cuts into words whose times are a little off.
_MARGIN_S = 0.3
#: The journal that is to replace the sound's; whole once it is there under this name and closed.
QUIET_JOURNAL = f"{SOUND_JOURNAL}.quiet"

Span = tuple[int, int]
"""First sample and the one after the last."""


def make_quiet(folder: Path, entries: Iterable[Span]) -> bool:
    """Write the quiet journal of a recording beside its sound; :func:`put_in_place` has it replace that.

    Args:
        folder: of the recording.
        entries: stretches that entries of drafts come from, samples. One that holds nothing of what was
            kept stays whole: other rules read it.

    Returns:
        False where it is not known what was kept: then nothing may be silenced.

    Raises:
        JournalFull: the disk took no more; the sound is as it was.
        JournalError: the sound cannot be read.
    """
    quiet = folder / QUIET_JOURNAL
    quiet.unlink(missing_ok=True)
    talk = kept_talk(folder / HEARD_JOURNAL)
    if talk is None:
        return False
    kept = spans_of(talk)
    kept += [one for one in entries if not any(one[0] < end and start < one[1] for start, end in kept)]
    reader = read_sound_journal(folder / SOUND_JOURNAL)
    position = 0
    with SoundJournal.create(quiet, reader.meta) as journal:
        for block in reader.blocks():
            journal.append(block * _heard_in(kept, position, len(block)))
            position += len(block)
        for mark in reader.marks:
            journal.mark(mark.name, mark.at_sample, **mark.details)
    return True


def put_in_place(folder: Path) -> None:
    """Have a quiet journal that was made replace the sound; nothing is done where there is none."""
    quiet = folder / QUIET_JOURNAL
    if quiet.exists():
        quiet.replace(folder / SOUND_JOURNAL)


def spans_of(talk: Iterable[Utterance]) -> list[Span]:
    """Return the stretches of sound that hold what was kept, in order and apart."""
    spans: list[Span] = []
    for start_s, end_s in sorted(moment for one in talk for moment in _moments(one)):
        start = max(0, round((start_s - _MARGIN_S) * RATE_HZ))
        end = round((end_s + _MARGIN_S) * RATE_HZ)
        if spans and start <= spans[-1][1]:
            spans[-1] = (spans[-1][0], max(end, spans[-1][1]))
        else:
            spans.append((start, end))
    return spans


def _moments(utterance: Utterance) -> Sequence[tuple[float, float]]:
    if not utterance.text.split():
        return ()
    # Word by word where times are known: in the midst of an utterance something may have been private.
    return [(word.start_s, word.end_s) for word in utterance.words] or [(utterance.start_s, utterance.end_s)]


def _heard_in(kept: Sequence[Span], position: int, length: int) -> np.ndarray[tuple[int], np.dtype[np.int16]]:
    """Return 1 where a block's samples are kept and 0 where not (int16, as long as the block)."""
    mask = np.zeros(length, np.int16)
    for start, end in kept:
        mask[max(0, start - position) : max(0, end - position)] = 1
    return mask
