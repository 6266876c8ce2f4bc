"""Figures of the clock and the calendar: o'clock positions, times of day, dates, years."""

from __future__ import annotations

from typing import Final

from extract.number_cues import cue_words
from extract.number_words import ONES, ORDINALS, TEENS, TENS, ZEROS
from extract.wording import Wording

_MONTHS: Final = cue_words("months")
_YEAR_BEFORE: Final = cue_words("before_year")
#: Words before a time of day.
BEFORE_HALF_HOUR: Final = frozenset({"at", "by", "till", "until", "before", "about", "around"})
_MINUTES_PAST: Final = frozenset({"half", "quarter", "ten", "twenty", "five", "10", "20", "5", "25"})
_COUNTED_DOWN: Final = {"five": 5, "ten": 10, "twenty": 20, "5": 5, "10": 10, "20": 20}
_DATE_SEPARATORS: Final = frozenset({("/", "/"), ("-", "-"), (".", ".")})


def clock_end(line: Wording, i: int) -> int:
    """Return the end of an o'clock position or a time of day at ``i``; ``i`` where there is none."""
    return max(
        _o_clock(line, i), _past_the_hour(line, i), _half_or_quarter(line, i), _figures_of_clock(line, i)
    )


def date_end(line: Wording, i: int) -> int:
    """Return the end of a date, with its year, or of a year at ``i``; ``i`` where there is none."""
    end = _day_end(line, i)
    year = end + 1 if line[end] == "," else end
    return (_year_end(line, year) or end) if end > i else end


def _day_end(line: Wording, i: int) -> int:
    norm = line[i]
    if norm in _MONTHS:
        return _day_behind_month(line, i)
    if line.is_piece(i) or norm in ORDINALS:
        day = i + 2 if line[i] in TENS and (line[i + 1] in ONES or line[i + 1] in ORDINALS) else i + 1
        if line[day] == "of" and (line[day + 1] in _MONTHS or line[day + 1] == "may"):
            return day + 2
        if line[day] in _MONTHS:
            return day + 1
    if norm in _YEAR_BEFORE:
        return _year_end(line, i + 1) or i
    figures = norm[:1].isdecimal() and line[i + 2][:1].isdecimal() and line[i + 4][:1].isdecimal()
    if not figures or (line[i + 1], line[i + 3]) not in _DATE_SEPARATORS:
        return i
    # "1. 12. 2. 11." lists places and values.
    listed = line[i + 1] == "." and not (line.touching(i + 2) or len(line[i + 4]) == 4)
    return i if listed else i + 5


def clock_position_end(line: Wording, i: int) -> int:
    """Return the end of "at six" in "at twelve o'clock nine thou and at six it's eleven"; else ``i``.

    For talk in which an o'clock position is said; a value would have its unit or go on.
    """
    if line[i] != "at" or not _is_hour(line[i + 1]) or line.is_piece(i + 2) or line.has_unit(i + 2):
        return i
    following = line[i + 2] if line[i + 2] != "," else line[i + 3]
    return i + 2 if following in ("it", "it's", "is", "'s", "i", "we", "reads", "reading", "=") else i


def appointment_end(line: Wording, i: int) -> int:
    """Return the end of "at two thirty" at ``i``, for talk of who comes and goes; else ``i``."""
    if line[i] not in BEFORE_HALF_HOUR or not _is_hour(line[i + 1]):
        return i
    end = i + 2
    if line[end] in TENS or line[end] in TEENS:
        end += 2 if line[end] in TENS and line[end + 1] in ONES else 1
    elif line[end] in ZEROS and line[end + 1] in ONES:
        end += 2
    else:
        return i
    return i if line.is_piece(end) or line[end] in ("point", "hundred") or line.has_unit(end) else end


def _o_clock(line: Wording, i: int) -> int:
    if not line.is_piece(i):
        return i
    at = i + 2 if line[i] in TENS and line[i + 1] in ONES else i + 1
    if line[at] == ":":
        at += 2
    if line[at] in ("o'clock", "oclock"):
        return at + 1
    return at + 2 if line[at] == "o" and line[at + 1] in ("clock", "'clock") else i


def _past_the_hour(line: Wording, i: int) -> int:
    if line[i] in ("past", "gone") and line.is_piece(i + 1) and not line.has_unit(i + 2):
        return i + 2
    if line[i] in _MINUTES_PAST and line[i + 1] in ("past", "gone"):
        return i + 3 if line.is_piece(i + 2) else i + 2
    return i


def _half_or_quarter(line: Wording, i: int) -> int:
    hour = line[i + 1]
    if line[i] == "half" and _is_hour(hour):
        # "Half eight" is said of nothing else; behind an amount it is a half more.
        alone = line[i - 1] in BEFORE_HALF_HOUR or not (
            line[i - 1] in ("a", "an", "and", "one") or line.is_piece(i - 1) or line.has_unit(i - 1)
        )
        return i + 2 if alone and not line.has_unit(i + 2) and not line.is_piece(i + 2) else i
    if _counts_down(line, i):
        return i + 3
    if line[i] == "quarter" and hour in ("to", "of") and line.is_piece(i + 2):
        return i if line.has_unit(i + 3) else i + 3
    return i


def _counts_down(line: Wording, i: int) -> bool:
    """Tell "ten to four", a time, from a range, which goes up."""
    minutes = {"five": 5, "ten": 10, "twenty": 20}.get(line[i]) or (
        int(line[i]) if line[i] in _COUNTED_DOWN else 0
    )
    if not minutes or line[i + 1] != "to" or not _is_hour(line[i + 2]) or line[i - 1] in ("from", "down"):
        return False
    hour = _hour(line[i + 2])
    alone = not (
        line.is_piece(i - 1) or line.is_piece(i + 3) or line[i + 3] == "point" or line.has_unit(i + 3)
    )
    return minutes > hour and alone


def _hour(norm: str) -> int:
    """Return the hour that a word or figures name, 1 to 12."""
    return ONES.get(norm) or {"ten": 10, "eleven": 11, "twelve": 12}.get(norm) or int(norm)


def _figures_of_clock(line: Wording, i: int) -> int:
    """Find "10:30" and "ten thirty a m"; "1:55" before a unit is a number misprinted."""
    if not line.is_piece(i):
        return i
    if line[i][0].isdecimal() and line[i + 1] == ":" and line[i + 2][:1].isdecimal():
        joined = line.touching(i + 1) and line.touching(i + 2)
        if joined and not line.measures(i + 3):
            return i + 3
        if joined and line[i + 3] == "in" and line[i + 5] in ("morning", "afternoon", "evening"):
            return i + 6
    end = i
    while end < i + 3 and line.is_piece(end):
        end += 1
    if line[end] in ("am", "pm", "tonight", "sharp"):
        return end + 1
    part = line[end + 1] if line[end] == "this" else line[end + 2] if line[end] == "in" else ""
    if (
        part in ("morning", "afternoon", "evening")
        and (_is_hour(line[i]) or _is_clock(line[i]))
        and (end == i + 1 or _is_minutes(line, i + 1, end))
    ):
        return end + (2 if line[end] == "this" else 3)
    dots = (line[end + 1], line[end + 3]) == (".", ".")
    letters = (line[end], line[end + 2 if dots else end + 1])
    if letters not in (("a", "m"), ("p", "m")):
        return i
    return end + (4 if dots else 2)


def _day_behind_month(line: Wording, i: int) -> int:
    end = i + 1
    while end < i + 6 and (line[end] in ("the", ",") or line.is_piece(end)):
        end += 1
    return end if end > i + 1 and line.is_piece(end - 1) else i


def _year_end(line: Wording, i: int) -> int | None:
    first, second = line[i], line[i + 1]
    if len(first) == 4 and first.isdecimal() and first[:2] in ("19", "20"):
        return None if line.has_unit(i + 1) or second in ("to", "-") else i + 1
    if first == "'" and len(second) == 2 and second.isdecimal():
        return i + 2
    if first == "twenty" and second in ("twenty", "thirty") and line[i - 1] not in ("from", "to", ","):
        end = i + 3 if line[i + 2] in ONES else i + 2
        return None if line.has_unit(end) or line.is_piece(end) else end
    if first == "nineteen" or (first == "twenty" and second in TEENS):
        if second not in TENS and second not in TEENS and second not in ("oh", "hundred"):
            return None
        end = i + 3 if line[i + 2] in ONES else i + 2
        return None if line.has_unit(end) else end
    led = line[i - 1] == "since" or (line[i - 1] == "in" and line[i - 2] != "all")
    # "All in, ninety five" is what bolts got.
    if first in ("seventy", "eighty", "ninety") and led and second in ONES:
        return None if line.has_unit(i + 2) or line.is_piece(i + 2) else i + 2
    return None


def _is_hour(norm: str) -> bool:
    return (
        norm in ONES or norm in ("ten", "eleven", "twelve") or (norm.isdecimal() and 1 <= int(norm[:3]) <= 12)
    )


def _is_clock(norm: str) -> bool:
    """Whether figures are a time with a point, as many print it ("6.40 this morning")."""
    hour, point, minutes = norm.partition(".")
    return bool(point) and _is_hour(hour) and len(minutes) == 2 and minutes.isdecimal() and minutes < "60"


def _is_minutes(line: Wording, i: int, end: int) -> bool:
    return end - i <= 2 and (line[i] in TENS or line[i] in TEENS or line[i] in ZEROS)
