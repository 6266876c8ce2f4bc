"""Inch threads by size and pitch: "quarter twenty", "3/8-16"; their figures are a name."""

from __future__ import annotations

from typing import Final

from extract.number_cues import cue_words
from extract.numbers import numbers_at, proper_parts_at
from extract.wording import Wording

#: Threads to the inch of the unified series (ASME B1.1, from memory), 1/4 inch to one inch.
_PITCHES: Final = frozenset({8, 9, 10, 11, 12, 13, 14, 16, 18, 20, 24, 28})
_THREADED: Final = cue_words("threaded")
_LONGEST_PITCH: Final = 3


def thread_end(line: Wording, i: int) -> int:
    """Return the end of a thread's size and pitch at ``i``; ``i`` where there is none.

    In words a threaded thing must follow ("half thirteen stud"), in print a hyphen will do ("1/2-13").
    """
    if line.is_piece(i - 1) or not (line.is_piece(i) or line[i] in ("half", "quarter")):
        return i
    for part in proper_parts_at(line.tokens, i):
        joined = line[part.end] in ("-", "by", "dash")
        start = part.end + joined
        if start >= len(line) or part.value.denominator > 16 or not line.is_piece(start):
            continue
        for pitch in numbers_at(line.tokens, start):
            if pitch.value not in _PITCHES or pitch.end - start > _LONGEST_PITCH:
                continue
            if line[part.end] == "-" or line[pitch.end] in _THREADED:
                return pitch.end
    return i
