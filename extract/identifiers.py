"""Numbers that name something instead of measuring it: their tokens are eaten before any reading.

Work orders, serials, drawings, bays, tags, bearing and part numbers, telephone numbers, o'clock
positions, times of day, dates, football scores. What is eaten can be part of no quantity.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.digit_groups import even_group_size
from extract.number_cues import cue_pairs, cue_words
from extract.number_words import ARTICLES, ONES, ORDINALS, POINTS, REPEATS, TEENS, TENS, ZEROS
from extract.spoken_units import unit_names_at
from extract.tokens import Token

#: After these a whole code follows: digits, pairs, letters, dashes.
_CODE_NOUNS: Final = cue_words("code_nouns")
_DIRECT_CODE_NOUNS: Final = cue_words("direct_code_nouns")
_CODE_PAIRS: Final = cue_pairs("code_pairs")
#: After these one small number follows.
_PLACE_NOUNS: Final = cue_words("place_nouns")
_BETWEEN: Final = cue_words("before_code")
_INSIDE: Final = cue_words("inside_code")
_NATO: Final = cue_words("spelling")
_MONTHS: Final = cue_words("months")
_YEAR_BEFORE: Final = cue_words("before_year")
_SCORE_WORDS: Final = cue_words("scores")
_PHONE_WORDS: Final = cue_words("phone")
_UNIT_LETTERS: Final = frozenset(
    {("r", "p", "m"), ("p", "s", "i"), ("t", "i", "r"), ("k", "p", "a"), ("g", "p", "m"), ("t", "p", "i"),
     ("f", "i", "m")}
)  # fmt: skip
_UNIT_LETTER_PAIRS: Final = frozenset(
    {("o", "d"), ("i", "d"), ("n", "m"), ("d", "e"), ("p", "m"), ("a", "m")}
)
_DIGITS: Final = frozenset({*ONES, *ZEROS, *REPEATS})
_SPOKEN_PIECES: Final = frozenset({*_DIGITS, *TEENS, *TENS})
_PHONE_LENGTH: Final = 7


def identifier_tokens(tokens: Sequence[Token]) -> frozenset[int]:
    """Return the indexes of all tokens that belong to a name made of figures."""
    eaten: set[int] = set()
    norms = [token.norm for token in tokens]
    scoring = any(norm in _SCORE_WORDS for norm in norms) or ("half", "time") in zip(
        norms, norms[1:], strict=False
    )
    phoning = any(norm in _PHONE_WORDS for norm in norms)
    i = 0
    while i < len(tokens):
        end = max(
            _code_after_noun(tokens, norms, i),
            _place_after_noun(tokens, norms, i),
            _long_number(norms, i),
            _lettered_code(tokens, norms, i),
            _clock_position(norms, i),
            _time_of_day(tokens, norms, i),
            _date(tokens, norms, i),
            _designation(tokens, norms, i),
            _joined_figures(tokens, norms, i),
            _score(norms, i) if scoring else i,
            _long_run(norms, i, phoning),
            _hash_number(tokens, norms, i),
            _money(tokens, norms, i),
        )
        if end > i:
            eaten.update(range(i, end))
            i = end
        else:
            i += 1
    return frozenset(eaten)


def _norm(norms: Sequence[str], i: int) -> str:
    return norms[i] if 0 <= i < len(norms) else ""


def is_piece(norm: str) -> bool:
    """Tell whether a token can be one piece of a code: a number word or figures."""
    return norm in _SPOKEN_PIECES or norm[:1].isdecimal()


def code_end(norms: Sequence[str], i: int) -> int:
    """Return the end of a code that starts at ``i``: pieces, single letters, dashes; must hold a digit."""
    at = i
    last = i
    while at < len(norms):
        norm = norms[at]
        if is_piece(norm) or norm == "hundred":
            last = at = at + 1
        elif (
            len(norm) == 1
            and norm.isalpha()
            and not (norm == "a" and not is_piece(_norm(norms, at + 1)) and _norm(norms, at + 1) != "as")
        ):
            at += 1
            last = at
        elif norm in _NATO or norm in _INSIDE or (norm == "as" and _norm(norms, at + 2) in _NATO):
            at += 1
            if norm in _NATO:
                last = at
        elif norm == "in" and _norm(norms, at + 1) in _NATO:
            at += 1
        elif norm[:1].isalpha() and norm[-1:].isdecimal():
            last = at = at + 1
        else:
            break
    return last if any(is_piece(norm) or norm[-1:].isdecimal() for norm in norms[i:last]) else i


def _code_after_noun(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    norm = norms[i]
    start = i + 1
    if (norm, _norm(norms, i + 1)) in _CODE_PAIRS:
        start = i + 2
    elif norm not in _CODE_NOUNS or (norm == "order" and _norm(norms, i - 1) in ("that", "this", "any")):
        return i
    steps = 0
    while start < len(norms) and norms[start] in _BETWEEN and steps < 3:
        start += 1
        steps += 1
    if norms[start - 1] == "on" or norms[start - 1] == "the":
        start = _after_telling_verb(norms, start)
    end = code_end(norms, start)
    if end == start or (end - start == 1 and _norm(norms, end) in ("and", *POINTS)):
        return i
    if unit_names_at(tokens, end)[0] and norms[end] not in ("'s", "m", "a", "p", "g", "c", "in", "points"):
        return i
    if (
        norm in ("type", "size", "class", "grade", "en", "kit", "heat", "api", "pattern")
        and steps
        and norms[i + 1] != "number"
    ):
        return i
    return end


def _after_telling_verb(norms: Sequence[str], i: int) -> int:
    """Return the place behind "reads" in "part number on the seal box reads", or ``i``."""
    for at in range(i, min(i + 4, len(norms))):
        if norms[at] in ("reads", "says", "is", "'s"):
            return at + 1
    return i


def _long_number(norms: Sequence[str], i: int) -> int:
    """Find "number 8812", "number eight eight one two": more figures than a position has."""
    if norms[i] not in ("number", "no"):
        return i
    start = i + 1
    while _norm(norms, start) in (".", "'s", "is", ":", "it") and start < i + 4:
        start += 1
    end = start
    while _norm(norms, end) in _DIGITS:
        end += 1
    if end - start >= 3 and _norm(norms, end) not in POINTS:
        return end
    first = _norm(norms, start)
    return start + 1 if len(first) >= 4 and first.isdecimal() else i


def _place_after_noun(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    if norms[i] not in _PLACE_NOUNS or not is_piece(_norm(norms, i + 1)):
        return i
    end = i + 2
    if norms[i + 1] in TENS and _norm(norms, end) in ONES:
        end += 1
    # "pump two eighty newton metres": a longer number or a unit behind it is a value.
    following = _norm(norms, end)
    if (
        is_piece(following)
        or following in ("hundred", "thousand", "and", *POINTS)
        or unit_names_at(tokens, end)[0]
    ):
        return i
    if len(_norm(norms, i + 1)) > 3 and norms[i + 1][0].isdecimal():
        return i
    return end


def _lettered_code(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    """Find "p two oh three b", "W-208", "d i oh four", "M 12"."""
    norm = norms[i]
    if not (len(norm) <= 3 and norm.isalpha()):
        return i
    adjacent = i + 2 < len(tokens) and norms[i + 1] == "-" and tokens[i + 2].start == tokens[i].end + 1
    if adjacent and norms[i + 2][:1].isdecimal():
        return code_end(norms, i + 2)
    if len(norm) > 1 or norm in ("a", "i"):
        return i
    if len(_norm(norms, i - 1)) == 1 and norms[i - 1].isalpha():
        return i
    at = i
    while len(_norm(norms, at)) == 1 and norms[at].isalpha():
        at += 1
    letters = tuple(norms[i:at])
    if (
        letters[-3:] in _UNIT_LETTERS
        or letters[-2:] in _UNIT_LETTER_PAIRS
        or _norm(norms, i - 1) in ("degrees", "deg", "°")
    ):
        return i
    if letters[0] == "o" and len(letters) == 1:
        return i
    if tokens[i].start and i and tokens[i - 1].end == tokens[i].start and norms[i - 1][-1:].isdecimal():
        return i
    while _norm(norms, at) in ("dash", "-", "slash", "number"):
        at += 1
    if not is_piece(_norm(norms, at)) or (
        at - i == 1 and is_piece(_norm(norms, i - 1)) and norm in ("c", "f", "g", "m", "s")
    ):
        return i
    end = code_end(norms, at)
    if _norm(norms, end) in POINTS and is_piece(_norm(norms, end + 1)):
        end = code_end(norms, end + 1)
    return i if unit_names_at(tokens, end)[0] and end - at <= 2 and len(letters) == 1 and norm == "c" else end


def _clock_position(norms: Sequence[str], i: int) -> int:
    if not is_piece(norms[i]):
        return i
    at = i + 1
    if norms[i] in TENS and _norm(norms, at) in ONES:
        at += 1
    if _norm(norms, at) == ":":
        at += 2
    if _norm(norms, at) in ("o'clock", "oclock"):
        return at + 1
    return at + 2 if _norm(norms, at) == "o" and _norm(norms, at + 1) in ("clock", "'clock") else i


def _time_of_day(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    norm = norms[i]
    if norm in ("past", "gone") and is_piece(_norm(norms, i + 1)) and not unit_names_at(tokens, i + 2)[0]:
        return i + 2
    if norm in ("half", "quarter", "ten", "twenty", "five", "twenty-five", "10", "20", "5", "25") and _norm(
        norms, i + 1
    ) in (
        "past",
        "gone",
    ):
        return i + 3 if is_piece(_norm(norms, i + 2)) else i + 2
    if norm == "quarter" and _norm(norms, i + 1) in ("to", "of") and is_piece(_norm(norms, i + 2)):
        return i if unit_names_at(tokens, i + 3)[0] else i + 3
    if not is_piece(norm):
        return i
    if norm[0].isdecimal() and _norm(norms, i + 1) == ":" and _norm(norms, i + 2)[:1].isdecimal():
        end = i + 3
        if tokens[i + 2].start - tokens[i].end == 1 and not _measures(tokens, end):
            return end
    end = i
    while end < i + 3 and is_piece(_norm(norms, end)):
        end += 1
    meridiem = (_norm(norms, end), _norm(norms, end + 1))
    if meridiem[0] in ("am", "pm"):
        return end + 1
    return end + 2 if meridiem in (("a", "m"), ("p", "m")) else i


def _measures(tokens: Sequence[Token], i: int) -> bool:
    names = unit_names_at(tokens, i)[0]
    return bool(names) and not names[0].foreign


def _date(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    norm = norms[i]
    if norm in _MONTHS:
        end = i + 1
        while end < len(norms) and (norms[end] in ("the", ",") or is_piece(norms[end])) and end < i + 6:
            end += 1
        return end if end > i + 1 and is_piece(norms[end - 1]) else i
    if is_piece(norm) and (
        _norm(norms, i + 1) in _MONTHS or (_norm(norms, i + 1), _norm(norms, i + 2)) == ("of", "may")
    ):
        return i + 2
    if norm in _YEAR_BEFORE:
        return _year_end(tokens, norms, i + 1) or i
    if norm == "new" and _norm(norms, i + 1) in ("in",):
        return i
    if norm[0].isdecimal():
        separators = (_norm(norms, i + 1), _norm(norms, i + 3))
        if separators in (("/", "/"), ("-", "-"), (".", ".")) and all(
            _norm(norms, i + k)[:1].isdecimal() for k in (2, 4)
        ):
            return i + 5
    return i


def _year_end(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int | None:
    first, second = _norm(norms, i), _norm(norms, i + 1)
    if len(first) == 4 and first.isdecimal() and first[:2] in ("19", "20"):
        return None if unit_names_at(tokens, i + 1)[0] or _norm(norms, i + 1) in ("to", "-") else i + 1
    century = first == "nineteen" or (first == "twenty" and second in TEENS)
    if century and (second in TENS or second in TEENS or second in ("oh", "hundred")):
        end = i + 2
        if _norm(norms, end) in ONES:
            end += 1
        return None if unit_names_at(tokens, end)[0] else end
    if first == "'" and len(second) == 2 and second.isdecimal():
        return i + 2
    if first in ("seventy", "eighty", "ninety") and _norm(norms, i - 1) in ("in", "since") and second in ONES:
        return None if unit_names_at(tokens, i + 2)[0] or is_piece(_norm(norms, i + 2)) else i + 2
    return None


def _designation(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    """Find "a sixty three thirteen", "a 6313": an article before a longer number that is no amount."""
    if norms[i] not in ARTICLES:
        return i
    start = i + 1
    first = _norm(norms, start)
    if first[:1].isdecimal():
        end = start + 1
        return (
            end
            if len(first) >= 3
            and first.isdecimal()
            and not unit_names_at(tokens, end)[0]
            and _norm(norms, end) != "/"
            else i
        )
    end = start
    while _norm(norms, end) in _SPOKEN_PIECES:
        end += 1
    pieces = end - start
    if pieces < 2 or (pieces == 2 and first in TENS and norms[start + 1] in ONES):
        return i
    return (
        i
        if _norm(norms, end) in (*POINTS, "hundred", "thousand", "and") or unit_names_at(tokens, end)[0]
        else end
    )


def _joined_figures(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    """Find "441-2-7" and "77042-A": figures joined by hyphens with more than a range would have."""
    if not norms[i][0].isdecimal() or _norm(norms, i + 1) != "-" or i + 2 >= len(tokens):
        return i
    end = i
    joins = 0
    while (
        end + 2 < len(tokens)
        and norms[end + 1] in ("-", "/")
        and tokens[end + 1].start == tokens[end].end
        and tokens[end + 2].start == tokens[end + 1].end
        and norms[end + 2][0].isalnum()
    ):
        joins += norms[end + 1] == "-"
        end += 2
    if joins == 1 and end == i + 2 and norms[i].isdecimal() and norms[end].isdecimal():
        # "774-2109": the parts of a range have the same length, or a unit behind them.
        uneven = len(norms[i]) >= 3 and len(norms[end]) > len(norms[i])
        return end + 1 if uneven and not unit_names_at(tokens, end + 1)[0] else i
    if joins >= 2 or (joins == 1 and norms[end][0].isalpha() and not unit_names_at(tokens, end)[0]):
        return end + 1
    return i


def _score(norms: Sequence[str], i: int) -> int:
    if not _is_goals(norms[i]):
        return i
    following = _norm(norms, i + 1)
    if following == "all" or (_is_goals(following) and not is_piece(_norm(norms, i + 2))):
        return i + 2
    return i + 3 if following in ("-", "to", ":") and _is_goals(_norm(norms, i + 2)) else i


def _is_goals(norm: str) -> bool:
    return norm in _DIGITS or (len(norm) == 1 and norm.isdecimal())


def _long_run(norms: Sequence[str], i: int, phoning: bool) -> int:
    """Find a telephone or part number: more digits one by one than any reading has."""
    if _norm(norms, i - 1) in _DIGITS:
        return i
    end = i
    digits = 0
    while end < len(norms) and (norms[end] in _DIGITS or (norms[end].isdecimal() and (phoning or end > i))):
        digits += len(norms[end]) if norms[end][0].isdecimal() else 1
        end += 1
    if _norm(norms, i - 1) in POINTS or _norm(norms, end) in POINTS:
        return i
    if end == i and norms[i].isdecimal() and len(norms[i]) >= _PHONE_LENGTH:
        return i + 1
    if digits >= _PHONE_LENGTH and (phoning or not even_group_size(norms[i:end])):
        return end
    return i


def _hash_number(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    if norms[i] != "#" or not is_piece(_norm(norms, i + 1)):
        return i
    return i + 2


def _money(tokens: Sequence[Token], norms: Sequence[str], i: int) -> int:
    if norms[i] in ("$", "£", "€") and is_piece(_norm(norms, i + 1)):
        return i + 2
    return i


def is_ordinal(norm: str) -> bool:
    """Tell whether a word only counts places in a row."""
    return norm in ORDINALS
