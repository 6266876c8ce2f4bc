"""Small numbers that say where a value was taken: "vane three", "one's thirty", "number two".

These are the labels that everybody's words show without a job sheet. Their tokens belong to no
quantity; the record builder solves positions with the sheet on top of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.number_cues import cue_words
from extract.number_words import ONES, TEENS, TENS, ZEROS
from extract.numbers import NumberReading, is_number_word, numbers_at
from extract.spoken_units import UnitName, unit_names_at
from extract.tokens import Token

_STRONG: Final = cue_words("strong_label_nouns")
_WEAK: Final = cue_words("weak_label_nouns")
_TORQUED: Final = cue_words("torqued_nouns")
_PLURAL: Final = cue_words("plural_nouns")
_COPULAS: Final = cue_words("copulas")
_BEFORE_VALUE: Final = cue_words("before_value")
_JOINS: Final = cue_words("label_joins")
_LISTS: Final = cue_words("label_lists")
_NO_LABEL_BEFORE: Final = cue_words("no_label_before")
_BEFORE_ON: Final = cue_words("before_on")
_AFTER_ON: Final = cue_words("after_on")
_SMALL: Final = {**ONES, "ten": 10, "eleven": 11, "twelve": 12}
_LABEL_LIMIT: Final = 12
_NEAR: Final = 10
_NO_PAIRS_BEHIND: Final = frozenset({"point", "and", "between", "from"})
_GOES_ON: Final = frozenset({"hundred", "thousand", "half"})
_SINGULAR_LISTS: Final = frozenset({"and", "to", "through", "thru", "&"})
_PARTED: Final = frozenset({",", ":", "-", "="})
_NO_UNIT_BEHIND_LABEL: Final = frozenset({"in", "c", "f", "g", "off", "m"})


def label_tokens(tokens: Sequence[Token], eaten: frozenset[int]) -> frozenset[int]:
    """Return the indexes of tokens that label a position; ``eaten`` ones are stepped over."""
    found: set[int] = set()
    i = 0
    while i < len(tokens):
        if i in eaten:
            i += 1
            continue
        end = (
            _after_noun(tokens, i, eaten)
            or _before_copula(tokens, i)
            or _after_on(tokens, i, eaten)
            or _from_to(tokens, i, eaten)
        )
        if end:
            found.update(range(i, end))
            i = _following_labels(tokens, end, label_value(tokens, end - 1), eaten, found)
        else:
            i = _run_of_pairs(tokens, i, eaten, found) or i + 1
    return frozenset(found)


def label_value(tokens: Sequence[Token], i: int) -> int | None:
    """Return the small number that one token names as a label, 1 to 12; None where it is none."""
    if i >= len(tokens):
        return None
    norm = tokens[i].norm
    if norm in _SMALL:
        return _SMALL[norm]
    if norm.isdecimal() and len(norm) <= 2 and 1 <= int(norm) <= _LABEL_LIMIT:
        return int(norm)
    return None


def _norm(tokens: Sequence[Token], i: int) -> str:
    return tokens[i].norm if 0 <= i < len(tokens) else ""


def _measured(tokens: Sequence[Token], i: int) -> bool:
    """Tell whether a unit stands at ``i``, so that the number before it is an amount."""
    names = unit_names_at(tokens, i)[0]
    return bool(names) and not names[0].foreign and _norm(tokens, i) not in _NO_UNIT_BEHIND_LABEL


def _after_noun(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int:
    """Return the end of a label that a noun at ``i`` introduces, 0 where there is none."""
    noun = _norm(tokens, i)
    abbreviated = noun == "no" and _norm(tokens, i + 1) == "."
    strong = noun in _STRONG or abbreviated
    if not strong and noun not in _WEAK:
        return 0
    if label_value(tokens, i - 1) is not None and _norm(tokens, i - 2) in ("number", "#"):
        # "number two vane eleven thou": the vane has its number already.
        return 0
    at = i + 2 if abbreviated else i + 1
    while _norm(tokens, at) in ("number", "#", "numbers"):
        at += 1
    if label_value(tokens, at) is None or at in eaten:
        return 0
    if noun in _PLURAL:
        return _after_plural(tokens, i, at, strong, eaten)
    half_of_a_unit = _norm(tokens, at + 1) == "half" and _norm(tokens, at + 2) in ("a", "an")
    if _measured(tokens, at + 1) or (_norm(tokens, at + 1) in _GOES_ON and not half_of_a_unit):
        return 0
    if not strong and not _counts_on(tokens, i, at) and not _is_numbered(tokens, at, noun):
        return 0
    return (_label_list(tokens, at, eaten) if _norm(tokens, at + 1) in _SINGULAR_LISTS else 0) or at + 1


def _after_plural(tokens: Sequence[Token], i: int, at: int, strong: bool, eaten: frozenset[int]) -> int:
    """Return the end of the labels behind "vanes" or "rings", 0 where they are values or a count."""
    if _norm(tokens, i - 2) == "across" or _measured(tokens, at + 1) or _digits_at_random(tokens, at):
        return 0
    end = _label_list(tokens, at, eaten)
    following = _norm(tokens, at + 1)
    if strong or end > at + 1 or following in _COPULAS or following == ",":
        return end
    return 0


def _digits_at_random(tokens: Sequence[Token], at: int) -> bool:
    """Tell "nine four nine five" from "one two and four": three digits or more that do not ascend."""
    digits: list[int] = []
    while (value := label_value(tokens, at)) is not None and value < 10:
        digits.append(value)
        at += 1
    return len(digits) >= 3 and digits != sorted(set(digits))


def _counts_on(tokens: Sequence[Token], i: int, at: int) -> bool:
    """Tell whether the same noun stands again with the number before or after: "ring four … ring five …"."""
    noun, value = _norm(tokens, i), label_value(tokens, at) or 0
    return any(
        _norm(tokens, k) == noun and k != i and label_value(tokens, k + 1) in (value - 1, value + 1)
        for k in range(max(0, i - _NEAR), min(len(tokens), at + _NEAR))
    )


def _is_numbered(tokens: Sequence[Token], at: int, noun: str) -> bool:
    """Tell whether the number at ``at`` says which ring or bolt, and not its size or torque."""
    following = _norm(tokens, at + 1)
    after_next = _norm(tokens, at + 2)
    if (following in _COPULAS or following == ",") and _number_soon(tokens, at + 2):
        return True
    if following in ("was", "were", "is", "'s") and after_next.isalpha():
        # "stud six was loose"
        return True
    if label_value(tokens, at + 1) is not None and label_value(tokens, at + 2) is not None:
        # "journal one seven seven two one": digits of one reading.
        return False
    if noun in _TORQUED or (following == "and" and after_next in ("a", "half", "three")):
        return False
    # "ring four point oh one three": nobody gives a ring's size so, and four is a ring.
    return following != "point" or after_next in ZEROS


def _number_soon(tokens: Sequence[Token], i: int) -> bool:
    """Tell whether a number follows, with at most three soft words before it."""
    for at in range(i, min(i + 4, len(tokens))):
        norm = tokens[at].norm
        if norm in ("a", "half"):
            if _starts_amount(tokens, at):
                return True
        elif norm != "-" and numbers_at(tokens, at):
            return True
        if norm not in _BEFORE_VALUE and norm not in (",", "'s", "is"):
            return False
    return False


def _starts_amount(tokens: Sequence[Token], i: int) -> bool:
    return any(
        reading.style not in ("ordinal", "article")
        and (reading.end > i + 1 or _measured(tokens, reading.end))
        for reading in numbers_at(tokens, i)
    )


def _label_list(tokens: Sequence[Token], at: int, eaten: frozenset[int]) -> int:
    """Return the end of "one through five", "two, four and five", "1-3"; 0 where they are values."""
    last = label_value(tokens, at)
    end = at + 1
    while last is not None and end < len(tokens) and end not in eaten:
        step = end
        while _norm(tokens, step) in _LISTS:
            step += 1
        following = label_value(tokens, step)
        # Labels ascend; a number that does not, or that carries a unit, is the first value.
        if following is None or following <= last or _measured(tokens, step + 1):
            break
        if (step == end and following >= 10) or _norm(tokens, step + 1) in ("hundred", "point"):
            break
        last, end = following, step + 1
    if _norm(tokens, end) in _LISTS - {","} and _number_soon(tokens, end + 1):
        # "sleeves twelve and eighteen microns": the numbers are the values.
        return 0
    return end


def owns_value(tokens: Sequence[Token], i: int) -> bool:
    """Whether a word of a number is a label that has its value behind ("… oh one two's four point oh")."""
    spoken = tokens[i].norm in ONES and i > 0 and tokens[i - 1].norm in (*ONES, *ZEROS)
    return spoken and _norm(tokens, i + 1) == "'s" and _number_soon(tokens, i + 2)


def _before_copula(tokens: Sequence[Token], i: int) -> int:
    """Return the end of a label before "is", "'s", "at" and a value ("two's thirty one")."""
    copula = _norm(tokens, i + 1)
    first = label_value(tokens, i)
    if first is None or (copula == "at" and _norm(tokens, i + 3) in ("o'clock", "oclock", "o")):
        return 0
    second = label_value(tokens, i + 2)
    if (
        copula in _SINGULAR_LISTS
        and second is not None
        and second > first
        and _norm(tokens, i + 3) in _COPULAS
    ):
        # "three and four at ninety eight"
        return i + 3 if _number_soon(tokens, i + 4) else 0
    if copula not in _COPULAS:
        return 0
    before = _norm(tokens, i - 1)
    if before in _NO_LABEL_BEFORE or (copula == "at" and before in ("set", "torqued", "all", "of")):
        return 0
    behind_number = i > 0 and is_number_word(tokens[i - 1])
    if behind_number and (copula in ("at", "reading", "are") or tokens[i - 1].norm in (*TENS, "hundred")):
        return 0
    return i + 1 if _number_soon(tokens, i + 2) else 0


def _after_on(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int:
    """Return the end of "on three" behind a value ("fourteen on three fifteen on four")."""
    if _norm(tokens, i) != "on" or i == 0 or label_value(tokens, i + 1) is None or i + 1 in eaten:
        return 0
    if not is_number_word(tokens[i - 1]) and tokens[i - 1].norm not in _BEFORE_ON:
        return 0
    following = _norm(tokens, i + 2)
    if _measured(tokens, i + 2) or following in _GOES_ON:
        return 0
    ends = not following or following in _JOINS or following in _AFTER_ON or is_number_word(tokens[i + 2])
    return i + 2 if ends else 0


def _from_to(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int:
    """Return the end of "from one to five" before the values that were taken there."""
    first, last = label_value(tokens, i + 1), label_value(tokens, i + 3)
    if _norm(tokens, i) != "from" or first is None or last is None or first >= last:
        return 0
    if _norm(tokens, i + 2) not in ("to", "through", "thru", "-") or {i + 1, i + 2, i + 3} & eaten:
        return 0
    at = i + 5 if _norm(tokens, i + 4) in (":", ",") else i + 4
    return i + 4 if at < len(tokens) and is_number_word(tokens[at]) else 0


def _following_labels(
    tokens: Sequence[Token], i: int, last: int | None, eaten: frozenset[int], found: set[int]
) -> int:
    """Add labels that go on counting ("vane one twenty six two twenty seven …"); return the place reached."""
    at = i
    while last is not None:
        step = _short_value_end(tokens, at, eaten)
        if step is None:
            return at
        if _is_next_label(tokens, step - 1, last):
            step -= 1
        while _norm(tokens, step) in _JOINS:
            step += 1
        if label_value(tokens, step) != last + 1 or step in eaten:
            return at
        if _short_value_end(tokens, step + 1, eaten) is None:
            return at
        found.add(step)
        last += 1
        at = step + 1
    return at


def _is_next_label(tokens: Sequence[Token], i: int, last: int) -> bool:
    """Tell whether in "one is thirty two is thirty one" the "two" counts on and ends no thirty two."""
    counts_on = label_value(tokens, i) == last + 1 and _norm(tokens, i - 1) in TENS
    return counts_on and _norm(tokens, i + 1) in ("is", "'s", "was", "at") and _number_soon(tokens, i + 2)


def _short_value_end(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int | None:
    """Return the end of a value of two figures or a decimal at ``i``, with its unit, as feelers give."""
    at = i
    while _norm(tokens, at) in _COPULAS or _norm(tokens, at) in ("a", ",", "about", "still", ":"):
        at += 1
    norm = _norm(tokens, at)
    if norm in ONES and at not in eaten and _measured(tokens, at + 1):
        return unit_names_at(tokens, at + 1)[1]
    spoken = norm in TENS or norm in TEENS or norm in ("point", "nought", "zero", "oh")
    if at in eaten or not (spoken or norm[:1].isdecimal() or norm[:1] == "."):
        return None
    best = next((reading.end for reading in numbers_at(tokens, at) if _is_feeler_value(reading)), None)
    if best is None:
        return None
    names, end = unit_names_at(tokens, best)
    return end if names and not names[0].foreign else best


def _is_feeler_value(reading: NumberReading) -> bool:
    if reading.style == "digit_run":
        return reading.digits[0] == "0"
    return reading.value < 100 and reading.style in ("cardinal", "mixed", "decimal", "fraction")


def _run_of_pairs(tokens: Sequence[Token], i: int, eaten: frozenset[int], found: set[int]) -> int:
    """Add the labels of "two twenty eight three thirty one" or "1, 16; 2, 17"; return its end, 0 for none."""
    last = label_value(tokens, i)
    if (
        last is None
        or _norm(tokens, i - 1) in ("point", "and", "between", "from")
        or (i and is_number_word(tokens[i - 1]))
    ):
        return 0
    parted = _norm(tokens, i + 1) in _PARTED
    pairs: set[int] = set()
    at, end = i, 0
    while last < 10 and label_value(tokens, at) == last and at not in eaten:
        value_end = _paired_value_end(tokens, at + 2 if parted else at + 1, eaten)
        if value_end is None or (parted and _norm(tokens, at + 1) not in _PARTED):
            break
        pairs.add(at)
        at = end = value_end
        last += 1
        while _norm(tokens, at) in (",", "and", ";", "."):
            at += 1
    names = _unit_ending(tokens, end) if end else ()
    if len(pairs) < (3 if parted else 2) or (names and names[0].unit not in ("in", "mm", "um", None)):
        return 0
    found.update(pairs)
    return end


def _unit_ending(tokens: Sequence[Token], end: int) -> tuple[UnitName, ...]:
    """Return the unit right before ``end``, the longest that ends there, or right behind it."""
    for start in range(max(0, end - 4), end):
        names, unit_end = unit_names_at(tokens, start)
        if names and unit_end == end:
            return names
    return unit_names_at(tokens, end)[0]


def _paired_value_end(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int | None:
    norm = _norm(tokens, i)
    two_figures = norm in TENS or norm in TEENS or (norm.isdecimal() and len(norm) == 2) or "." in norm
    return _short_value_end(tokens, i, eaten) if two_figures else None
