"""Names of people taken out of what a lesson says and lets hear."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable

import numpy as np

from capture.sound_blocks import RATE_HZ, Samples
from shared.speech import Utterance

#: What stands for a name in captions.
SOMEBODY = "…"
#: Seconds more at both ends: a recogniser sets the seam of two words within that.
_SEAM_S = 0.08
#: Shorter pieces of names are everyday words oftener than names.
_LEAST = 3


def name_words(names: Iterable[str]) -> frozenset[str]:
    """Return the words of names by which somebody may be called, in lower case."""
    words = (word for name in names for word in re.findall(r"[^\W\d_]+", name.lower()))
    return frozenset(word for word in words if len(word) >= _LEAST)


def without_names(text: str, names: Collection[str]) -> str:
    """Return words with every name left out; "Rae's" is a name, too."""
    return re.sub(
        r"[^\W\d_]+(?:['’]s)?",
        lambda word: SOMEBODY if _is_name(word[0], names) else word[0],
        text,
    )


def name_spans(heard: Iterable[Utterance], names: Collection[str]) -> list[tuple[float, float]]:
    """Return where names are said, in seconds of the recording.

    An utterance in which a name is said and nobody knows at which second is a span as a whole.
    """
    spans: list[tuple[float, float]] = []
    for one in heard:
        if without_names(one.text, names) == one.text:
            continue
        timed = [word for word in one.words if any(_is_name(part, names) for part in _parts(word.text))]
        if timed:
            spans += [(word.start_s - _SEAM_S, word.end_s + _SEAM_S) for word in timed]
        else:
            spans.append((one.start_s, one.end_s))
    return spans


def silenced(samples: Samples, from_s: float, spans: Iterable[tuple[float, float]]) -> Samples:
    """Return sound in which spans are silent.

    Args:
        samples: int16, mono, 16 kHz.
        from_s: where it begins in its recording, seconds.
        spans: in seconds of the recording.
    """
    quiet = samples.copy()
    for start, end in spans:
        first, last = (round((at - from_s) * RATE_HZ) for at in (start, end))
        if last > 0:
            quiet[max(0, first) : last] = np.int16(0)
    return quiet


def _parts(text: str) -> list[str]:
    return re.findall(r"[^\W\d_]+(?:['’]s)?", text)


def _is_name(word: str, names: Collection[str]) -> bool:
    return re.sub(r"['’]s$", "", word.lower()) in names
