"""Names made of figures: work orders, serials, drawings, bays, tags, bearing and part numbers."""

from __future__ import annotations

from typing import Final

from extract.digit_groups import even_group_size
from extract.number_cues import cue_pairs, cue_words
from extract.number_words import ARTICLES, ONES, POINTS, TENS
from extract.wording import FIGURE_WORDS, PIECE_WORDS, Wording

#: After these a whole code follows: digits, pairs, letters, dashes.
_CODE_NOUNS: Final = cue_words("code_nouns")
_DIRECT_CODE_NOUNS: Final = cue_words("direct_code_nouns")
_CODE_PAIRS: Final = cue_pairs("code_pairs")
#: After these one small number follows.
_PLACE_NOUNS: Final = cue_words("place_nouns")
_BETWEEN: Final = cue_words("before_code")
_INSIDE: Final = cue_words("inside_code")
_SPELLING: Final = cue_words("spelling")
_UNIT_LETTERS: Final = frozenset(
    {("r", "p", "m"), ("p", "s", "i"), ("t", "i", "r"), ("k", "p", "a"), ("g", "p", "m"), ("t", "p", "i"),
     ("f", "i", "m")}
)  # fmt: skip
_UNIT_LETTER_PAIRS: Final = frozenset(
    {("o", "d"), ("i", "d"), ("n", "m"), ("d", "e"), ("p", "m"), ("a", "m"), ("m", "m")}
)
#: Letters that stand behind a number as its unit.
_UNIT_LETTER: Final = frozenset("cfgms")
_GOES_ON: Final = frozenset({"hundred", "thousand", "and", *POINTS})
#: Units by their letters only; behind a code they are part of the talk.
_NO_UNIT_BEHIND_CODE: Final = frozenset({"'s", "m", "a", "p", "g", "c", "in", "second", "off"})
_PHONE_LENGTH: Final = 7
_MOST_PIECES: Final = 80
_THE: Final = frozenset({"the", "that", "this", "those", "these"})
#: Words at which a name of figures begins.
CODE_TRIGGERS: Final = frozenset(
    {*_CODE_NOUNS, *_DIRECT_CODE_NOUNS, *_PLACE_NOUNS, *(first for first, _ in _CODE_PAIRS), *ARTICLES,
     *_THE, "number", "no", "#", "$", "£", "€"}
)  # fmt: skip


def named_end(line: Wording, i: int, phoning: bool) -> int:
    """Return the end of a name made of figures that starts at ``i``; ``i`` where there is none.

    ``phoning`` says that the talk is of a telephone, whose number comes in any grouping.
    """
    norm = line[i]
    end = i
    if norm in CODE_TRIGGERS:
        end = max(
            _behind_noun(line, i),
            _behind_place(line, i),
            _long_number(line, i),
            _designation(line, i),
            _marked(line, i),
        )
    if len(norm) <= 3 and norm.isalpha():
        end = max(end, _behind_letters(line, i))
    if line.is_piece(i):
        end = max(
            end,
            _joined_figures(line, i),
            _long_run(line, i, phoning),
            _plural_figures(line, i),
            _endless_run(line, i),
        )
    return end


def run_end(line: Wording, i: int) -> int:
    """Return the end of a code's run at ``i``: pieces, letters, dashes; ``i`` if it holds no figure."""
    at = last = i
    while at < len(line):
        norm = line[at]
        if _is_in_code(line, at):
            last = at = at + 1
        elif (
            norm in _INSIDE
            or (norm == "as" and line[at + 2] in _SPELLING)
            or (norm == "in" and line[at + 1] in _SPELLING)
        ):
            at += 1
        else:
            break
    return last if any(line.is_piece(k) or line[k][-1:].isdecimal() for k in range(i, last)) else i


def _is_in_code(line: Wording, i: int) -> bool:
    norm = line[i]
    named = norm == "hundred" or norm in _SPELLING or (norm[:1].isalpha() and norm[-1:].isdecimal())
    return named or line.is_piece(i) or _is_letter(line, i)


def _is_letter(line: Wording, i: int) -> bool:
    norm = line[i]
    if len(norm) != 1 or not norm.isalpha():
        return False
    return norm != "a" or line.is_piece(i + 1) or line[i + 1] == "as"


def _behind_noun(line: Wording, i: int) -> int:
    norm = line[i]
    pair = (norm, line[i + 1]) in _CODE_PAIRS
    ordering = norm == "order" and line[i - 1] in ("that", "this", "any")
    if not pair and (ordering or (norm not in _CODE_NOUNS and norm not in _DIRECT_CODE_NOUNS)):
        return i
    start = first = i + 2 if pair else i + 1
    while start < first + 3 and line[start] in _BETWEEN:
        start += 1
    if not pair and norm in _DIRECT_CODE_NOUNS and start > first:
        return i
    if line[start - 1] in ("on", "the") or line[start] in ("plate", "tag", "label", "sticker"):
        start = _behind_telling_verb(line, start)
    end = run_end(line, start)
    if end == start or (end - start == 1 and line[end] in ("and", *POINTS)):
        return i
    return i if line.has_unit(end) and line[end] not in _NO_UNIT_BEHIND_CODE else end


def _behind_telling_verb(line: Wording, i: int) -> int:
    """Return the place behind "reads" in "part number on the seal box reads", or ``i``."""
    return next((at + 1 for at in range(i, i + 4) if line[at] in ("reads", "says", "is", "'s")), i)


def _long_number(line: Wording, i: int) -> int:
    """Find "number 8812", "number eight eight one two": more figures than a position has."""
    if line[i] not in ("number", "no"):
        return i
    start = i + 1
    while start < i + 4 and line[start] in (".", "'s", "is", ":", "it"):
        start += 1
    end = start
    while line[end] in FIGURE_WORDS:
        end += 1
    if end - start >= 3 and line[end] not in POINTS:
        return end
    if len(line[start]) < 4 or not line[start].isdecimal():
        return i
    end = start + 1
    while line[end].isdecimal():
        end += 1
    return end


def _behind_place(line: Wording, i: int) -> int:
    """Find "bay six"; in "pump two eighty newton metres" a longer number or a unit shows a value."""
    if (
        line[i] not in _PLACE_NOUNS
        or not line.is_piece(i + 1)
        or (line[i] == "line" and line[i - 1] == "split")
    ):
        return i
    end = i + 3 if line[i + 1] in TENS and line[i + 2] in ONES else i + 2
    if line.is_piece(end) or line[end] in _GOES_ON or line.has_unit(end):
        return i
    return i if len(line[i + 1]) > 3 and line[i + 1][0].isdecimal() else end


def _behind_letters(line: Wording, i: int) -> int:
    """Find "p two oh three b", "W-208", "d i oh four", "M 12"."""
    norm = line[i]
    if line[i + 1] == "-" and line.touching(i + 1) and line.touching(i + 2) and line[i + 2][:1].isdecimal():
        return run_end(line, i + 2)
    before = line[i - 1]
    spelled = norm not in ("a", "i") or (len(line[i + 1]) == 1 and line[i + 1].isalpha())
    if len(norm) > 1 or not spelled or (len(before) == 1 and before.isalpha()):
        return i
    at = i
    while len(line[at]) == 1 and line[at].isalpha():
        at += 1
    letters = tuple(line.norms[i:at])
    if letters[-3:] in _UNIT_LETTERS or letters[-2:] in _UNIT_LETTER_PAIRS or letters == ("o",):
        return i
    unit_letter = len(letters) == 1 and norm in _UNIT_LETTER and line.is_piece(i - 1)
    if before in ("degrees", "deg", "°") or unit_letter or (line.touching(i) and before[-1:].isdecimal()):
        return i
    while line[at] in ("dash", "-", "slash", "number"):
        at += 1
    if not line.is_piece(at):
        return i
    end = run_end(line, at)
    if line[end] in POINTS and line.is_piece(end + 1):
        end = run_end(line, end + 1)
    return end


def _designation(line: Wording, i: int) -> int:
    """Find "a sixty three thirteen", "a 6313": an article before a longer number that is no amount."""
    if line[i] in _THE:
        return _type_number(line, i)
    if line[i] not in ARTICLES:
        return i
    first = line[i + 1]
    end = i + 1
    if first[:1].isdecimal():
        end += 1
        longer = len(first) >= 3 and first.isdecimal() and line[end] != "/"
    else:
        while line[end] in PIECE_WORDS:
            end += 1
        pieces = end - i - 1
        longer = pieces > 2 or (pieces == 2 and not (first in TENS and line[i + 2] in ONES))
    if longer and len(line[end]) == 1 and line[end].isalpha() and line.is_piece(end + 1):
        # "a six two one two c three"
        return run_end(line, end)
    return end if longer and line[end] not in _GOES_ON and not line.has_unit(end) else i


def _type_number(line: Wording, i: int) -> int:
    """Find "the six three oh eight", "that 6313": four figures one by one, of no unit."""
    end = i + 1
    if line[end].isdecimal() and len(line[end]) == 4:
        end += 1
    else:
        while line[end] in FIGURE_WORDS:
            end += 1
        if end - i - 1 != 4:
            return i
    measured = line.has_unit(end) and line[end] not in _NO_UNIT_BEHIND_CODE
    return i if measured or line.is_piece(end) or line[end] in _GOES_ON else end


def _joined_figures(line: Wording, i: int) -> int:
    """Find "441-2-7", "77042-A", "774-2109", "four dash two": joined as no range is."""
    dash = i + 1
    while dash < i + 9 and line.is_piece(dash):
        dash += 1
    if line[dash] in ("dash", "stroke") and line.is_piece(dash + 1) and not line.has_unit(run_end(line, i)):
        return run_end(line, i)
    if not line[i][0].isdecimal() or line[i + 1] != "-":
        return i
    end = i
    joins = 0
    while (
        line[end + 1] in ("-", "/")
        and line.touching(end + 1)
        and line.touching(end + 2)
        and line[end + 2][0].isalnum()
    ):
        joins += line[end + 1] == "-"
        end += 2
    if joins == 0 or (joins == 1 and line.has_unit(end)):
        return i
    if joins == 1 and end == i + 2 and line[i].isdecimal() and line[end].isdecimal():
        if len(line[i]) == len(line[end]) == 1 and line[end] <= line[i]:
            # "3-0" goes down, as a score does and a range never.
            return end + 1
        # The parts of a range have the same length, or a unit behind them.
        uneven = len(line[i]) >= 3 and len(line[end]) > len(line[i])
        return end + 1 if uneven and not line.has_unit(end + 1) else i
    return end + 1 if joins >= 2 or line[end][0].isalpha() else i


def _long_run(line: Wording, i: int, phoning: bool) -> int:
    """Find a telephone or part number: more digits one by one than any reading has."""
    if phoning and line[i - 1] == "on" and not line.is_piece(i - 2):
        end = i
        while line.is_piece(end):
            end += 1
        return i if line.has_unit(end) or line[end] in POINTS else end
    if line[i - 1] in FIGURE_WORDS or line[i - 1] in POINTS:
        return i
    end = i
    figures = 0
    while line[end] in FIGURE_WORDS or (line[end].isdecimal() and (phoning or end > i)):
        figures += len(line[end]) if line[end][0].isdecimal() else 1
        end += 1
    if end == i:
        return (
            i + 1
            if line[i].isdecimal() and len(line[i]) >= _PHONE_LENGTH and line[i + 1] not in POINTS
            else i
        )
    if line[end] in POINTS or figures < _PHONE_LENGTH:
        return i
    return end if phoning or not even_group_size(line.norms[i:end]) else i


def _endless_run(line: Wording, i: int) -> int:
    """Find more number words in a row than anybody says: noise, of which no part is a reading."""
    if line.is_piece(i - 1):
        return i
    end = i
    while line.is_piece(end):
        end += 1
    return end if end - i > _MOST_PIECES else i


def _plural_figures(line: Wording, i: int) -> int:
    """Find "6313s": several of a type."""
    return (
        i + 2
        if len(line[i]) >= 3 and line[i].isdecimal() and line[i + 1] == "s" and line.touching(i + 1)
        else i
    )


def _marked(line: Wording, i: int) -> int:
    """Find "#3" and "£20"."""
    return i + 2 if line[i] in ("#", "$", "£", "€") and line.is_piece(i + 1) else i
