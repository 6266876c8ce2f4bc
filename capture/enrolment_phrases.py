"""The phrases that whoever enrols reads aloud, and which of them a recording holds where."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from functools import cache
from pathlib import Path

import numpy as np

from capture.segments import Segment

_PHRASES = Path(__file__).with_suffix(".txt")
#: Words of a phrase that must be heard in an utterance before it counts as (a part of) that phrase.
_LEAST_WORDS = 2
_LEAST_SHARE = 0.4
"""Of a phrase's words: below it something else was said, or it was not heard at all."""


@dataclass(frozen=True)
class ReadPhrase:
    """A phrase, or several said in one breath, and the sound of it."""

    words: tuple[str, ...]
    segment: Segment
    phrases: int = 1
    """How many of them it is."""


@cache
def enrolment_phrases() -> tuple[str, ...]:
    """Return the phrases in the order in which they are read; words only."""
    lines = _PHRASES.read_text(encoding="utf-8").splitlines()
    return tuple(line.strip() for line in lines if line.strip() and not line.startswith("#"))


def phrases_read(segments: Sequence[Segment], heard: Sequence[Sequence[str]]) -> list[ReadPhrase]:
    """Find the phrases in utterances, in order; a pause within one and two in one breath do no harm.

    Args:
        segments: of everything that was recorded, in order.
        heard: the words that an engine heard in each, as well as it could.
    """
    wanted = [(word, n) for n, phrase in enumerate(enrolment_phrases()) for word in phrase.split()]
    said = [(word, n) for n, words in enumerate(heard) for word in words]
    votes: defaultdict[int, Counter[int]] = defaultdict(Counter)
    matcher = SequenceMatcher(None, [word for word, _ in said], [word for word, _ in wanted], autojunk=False)
    for at, to, length in matcher.get_matching_blocks():
        for n in range(length):
            votes[said[at + n][1]][wanted[to + n][1]] += 1
    found = [_joined(group, segments) for group in _groups(votes)]
    return [read for read, matched in found if matched >= _LEAST_SHARE * len(read.words)]


_Group = tuple[list[int], list[int], int]


def _groups(votes: dict[int, Counter[int]]) -> list[_Group]:
    """Return (utterances, phrases, words matched) that belong together, in order."""
    groups: list[_Group] = []
    for utterance in sorted(votes):
        kept = {phrase: count for phrase, count in votes[utterance].items() if count >= _LEAST_WORDS}
        if not kept:
            continue
        if groups and min(kept) <= groups[-1][1][-1]:
            utterances, phrases, matched = groups.pop()
        else:
            utterances, phrases, matched = [], [], 0
        phrases = sorted({*phrases, *kept})
        groups.append(([*utterances, utterance], phrases, matched + sum(kept.values())))
    return groups


def _joined(group: _Group, segments: Sequence[Segment]) -> tuple[ReadPhrase, int]:
    utterances, phrases, matched = group
    parts = [segments[n] for n in utterances]
    sound = np.concatenate([part.samples for part in parts])
    words = tuple(word for n in phrases for word in enrolment_phrases()[n].split())
    segment = Segment(parts[0].number, parts[0].start_s, parts[-1].end_s, sound)
    return ReadPhrase(words, segment, len(phrases)), matched
