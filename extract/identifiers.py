"""Numbers that name something instead of measuring it: their tokens are eaten before any reading.

Work orders, serials, drawings, bays, tags, bearing and part numbers, telephone numbers, o'clock
positions, times of day, dates, football scores. What is eaten can be part of no quantity.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.codes import CODE_TRIGGERS, named_end, run_end
from extract.number_cues import cue_words
from extract.number_words import ORDINALS
from extract.thread_sizes import thread_end
from extract.times_and_dates import BEFORE_HALF_HOUR, appointment_end, clock_end, clock_position_end, date_end
from extract.tokens import Token
from extract.wording import FIGURE_WORDS, Wording

_SCORES: Final = cue_words("scores")
_RUNG: Final = frozenset({"me", "him", "her", "us", "them", "the", "up", "back", "stores", "on"})
_COMING: Final = cue_words("coming_and_going")
_PHONE: Final = cue_words("phone")
_CLOCK_STARTS: Final = frozenset({"past", "gone", "half", "quarter"})
_DATE_STARTS: Final = cue_words("months") | cue_words("before_year") | ORDINALS.keys()
#: All words at which a name of figures can begin; letters and short words may, too.
_STARTS: Final = frozenset(CODE_TRIGGERS | _CLOCK_STARTS | _DATE_STARTS | BEFORE_HALF_HOUR)
_LONGEST_LETTERS: Final = 3


def identifier_tokens(tokens: Sequence[Token]) -> frozenset[int]:
    """Return the indexes of all tokens that belong to a name made of figures."""
    line = Wording(tokens)
    words = set(line.norms)
    scoring = not words.isdisjoint(_SCORES) or ("time" in words and not words.isdisjoint(("half", "full")))
    phoning = _phoning(line)
    coming = not words.isdisjoint(_COMING)
    clock = not words.isdisjoint(("o'clock", "oclock", "clock"))
    eaten: set[int] = set()
    i = 0
    while i < len(line):
        norm, piece = line.norms[i], line.is_piece(i)
        if not piece and len(norm) > _LONGEST_LETTERS and norm not in _STARTS:
            i += 1
            continue
        end = named_end(line, i, phoning)
        if piece or norm in _CLOCK_STARTS:
            end = max(end, clock_end(line, i))
        if piece or norm in _DATE_STARTS:
            end = max(end, date_end(line, i))
        if piece or norm in ("half", "quarter"):
            end = max(end, thread_end(line, i))
        if clock and norm == "at":
            end = max(end, clock_position_end(line, i))
        if coming:
            end = max(end, appointment_end(line, i))
        if piece and scoring and not (i and (line.is_piece(i - 1) or line[i - 1] == "point")):
            end = max(end, _score_end(line, i))
        eaten.update(range(i, end))
        i = max(end, i + 1)
    return frozenset(eaten)


def _phoning(line: Wording) -> bool:
    """Tell whether somebody is to be rung; a "ring" alone is a part."""
    called = (i for i in range(len(line)) if line[i] in _PHONE)
    return any(line[i] != "ring" or line[i + 1] in _RUNG for i in called)


def code_end(norms: Sequence[str], i: int) -> int:
    """Return the end of a code's run at ``i``: pieces, letters, dashes; ``i`` if it holds no figure."""
    return run_end(Wording.of_words(norms), i)


def _score_end(line: Wording, i: int) -> int:
    """Return the end of "three one", "3-1", "two all" at ``i``, where the talk is of a match."""
    if not _is_goals(line[i]):
        return i
    if line[i + 1] == "all" or (_is_goals(line[i + 1]) and not line.is_piece(i + 2)):
        return i + 2
    return i + 3 if line[i + 1] in ("-", "to", ":", "and") and _is_goals(line[i + 2]) else i


def _is_goals(norm: str) -> bool:
    return norm in FIGURE_WORDS or (len(norm) == 1 and norm.isdecimal())
