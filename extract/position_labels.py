"""Small numbers that say where a value was taken: "vane three", "one's thirty", "number two".

These are the labels that everybody's words show without a job sheet. Their tokens belong to no
quantity; the record builder solves positions with the sheet on top of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.number_words import ONES, TEENS, TENS
from extract.numbers import is_number_word, numbers_at
from extract.spoken_units import unit_names_at
from extract.tokens import Token

#: A number behind one of these is a label whatever follows.
_STRONG: Final = frozenset(
    "vane vain vein van blade stage rod position station quadrant cylinder lobe jaw corner number "
    "vanes vains veins blades stages rods positions stations numbers corners".split()
)
#: A number behind one of these is a label where a value of its own follows.
_WEAK: Final = frozenset(
    "ring rings foot feet bush bushes sleeve sleeves bearing bearings journal journals hole holes stud bolt bolts "
    "screw screws nut nuts studs dowel shim shims spacer diffuser bowl chamber pad impeller cap reading".split()
)
_TORQUED: Final = frozenset("stud bolt bolts screw screws nut nuts studs cap".split())
_PLURAL: Final = frozenset(
    "vanes vains veins blades stages rods positions stations numbers corners rings feet bushes sleeves bearings "
    "journals holes bolts screws nuts studs shims".split()
)
_COPULAS: Final = frozenset(
    {"is", "'s", "was", "reads", "reading", "are", "at", "came", "comes", "read", "gives", "="}
)
_SOFT: Final = frozenset(
    "about around now still only just up down a bit at out to on roughly also the same again back reading in "
    "actually really dead bang i get got of tight loose strong good".split()
)
_JOINS: Final = frozenset({",", "and", ";", "then", "&", ".", "-", "with", "but"})
_LABEL_LIMIT: Final = 12
_SMALL: Final = {**ONES, "ten": 10, "eleven": 11, "twelve": 12}
_NOT_LABELS: Final = frozenset({"point", "hundred", "thousand", "and", "half", "oh", "zero", "o", "nought"})


def label_tokens(tokens: Sequence[Token], eaten: frozenset[int]) -> frozenset[int]:
    """Return the indexes of tokens that label a position; ``eaten`` ones are stepped over."""
    found: set[int] = set()
    i = 0
    while i < len(tokens):
        if i in eaten:
            i += 1
            continue
        end = _after_noun(tokens, i, eaten) or _before_copula(tokens, i, eaten) or _after_on(tokens, i, eaten)
        if not end:
            end = _run_of_pairs(tokens, i, eaten, found)
            if end:
                i = end
                continue
            i += 1
            continue
        labels = range(i, end)
        found.update(labels)
        i = _following_labels(tokens, end, label_value(tokens, end - 1), eaten, found)
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
    names = unit_names_at(tokens, i)[0]
    return bool(names) and names[0].said != "foreign" and _norm(tokens, i) not in ("in", "c", "f", "g", "off")


def _after_noun(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int:
    """Return the end of a label that a noun at ``i`` introduces, 0 where there is none."""
    noun = _norm(tokens, i)
    strong = noun in _STRONG or (noun == "no" and _norm(tokens, i + 1) == ".")
    if not strong and noun not in _WEAK:
        return 0
    at = i + 1
    if noun == "no":
        at += 1
    while _norm(tokens, at) in ("number", "#", "numbers"):
        at += 1
    value = label_value(tokens, at)
    if value is None or at in eaten:
        return 0
    if noun in _PLURAL:
        return 0 if _norm(tokens, i - 2) == "across" or _digits_at_random(tokens, at) else _label_list(tokens, at, eaten)
    if _measured(tokens, at + 1) or _norm(tokens, at + 1) in _NOT_LABELS - {
        "and",
        "oh",
        "point",
        "zero",
        "nought",
    }:
        return 0
    if strong:
        return at + 1
    return at + 1 if _value_of_its_own(tokens, at, noun) else 0


def _digits_at_random(tokens: Sequence[Token], at: int) -> bool:
    """Tell "nine four nine five" from "one two and four": three digits or more that do not ascend."""
    digits: list[int] = []
    while (value := label_value(tokens, at)) is not None and value < 10:
        digits.append(value)
        at += 1
    return len(digits) >= 3 and digits != sorted(set(digits))


def _value_of_its_own(tokens: Sequence[Token], at: int, noun: str) -> bool:
    """Tell whether behind the number at ``at`` another one stands on its own ("ring six eighteen thou")."""
    following = _norm(tokens, at + 1)
    if following in (*_COPULAS, ",") and _number_soon(tokens, at + 2):
        return True
    if noun in _TORQUED or not following or following in _NOT_LABELS:
        return False
    return bool(is_number_word(tokens[at + 1]))


def _number_soon(tokens: Sequence[Token], i: int) -> bool:
    """Tell whether a number follows, with at most three soft words before it."""
    for at in range(i, min(i + 4, len(tokens))):
        norm = tokens[at].norm
        if norm not in ("one", "a", "half") and numbers_at(tokens, at) and norm != "-":
            return True
        if norm in ("one", "half", "a") and _starts_value(tokens, at):
            return True
        if norm not in _SOFT and norm not in (",", "'s", "is"):
            return False
    return False


def _starts_value(tokens: Sequence[Token], i: int) -> bool:
    return any(
        r.style not in ("ordinal", "article") and (r.end > i + 1 or _measured(tokens, r.end))
        for r in numbers_at(tokens, i)
    ) or (_norm(tokens, i) == "one")


def _label_list(tokens: Sequence[Token], at: int, eaten: frozenset[int]) -> int:
    """Return the end of "one through five", "two, four and five", "1-3"."""
    last = label_value(tokens, at)
    if last is None:
        return 0
    end = at + 1
    while end < len(tokens) and end not in eaten:
        step = end
        while _norm(tokens, step) in ("to", "through", "thru", "and", ",", "&", "-", "or", "till"):
            step += 1
        following = label_value(tokens, step)
        # Labels ascend; a number that does not, or that carries a unit, is the first value.
        if following is None or following <= last or _measured(tokens, step + 1):
            break
        if step == end and following >= 10:
            break
        if _norm(tokens, step + 1) in ("hundred", "point"):
            break
        last, end = following, step + 1
    return end


def _before_copula(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int:
    """Return the end of a label before "is", "'s", "at" and a value ("two's thirty one")."""
    if label_value(tokens, i) is None or _norm(tokens, i + 1) not in _COPULAS:
        return 0
    before = _norm(tokens, i - 1)
    if (
        i
        and i - 1 not in eaten
        and (
            is_number_word(tokens[i - 1])
            or before
            in ("point", "this", "that", "last", "first", "next", "the", "new", "old", "other", "which")
        )
    ):
        return (
            0
            if not (is_number_word(tokens[i - 1]) and _norm(tokens, i + 1) in ("'s", "is", "was", "reads"))
            or before == "point"
            else i + 1
        )
    if _norm(tokens, i + 1) == "at" and before in ("set", "torqued", "all", "of"):
        return 0
    return i + 1 if _number_soon(tokens, i + 2) else 0


def _after_on(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int:
    """Return the end of "on three" behind a value ("fourteen on three fifteen on four")."""
    if _norm(tokens, i) != "on" or i == 0 or label_value(tokens, i + 1) is None or i + 1 in eaten:
        return 0
    before = tokens[i - 1]
    if not (
        is_number_word(before)
        or _norm(tokens, i - 1) in ("half", "thou", "mm", "mil", "microns", "mils", "same", '"')
    ):
        return 0
    following = _norm(tokens, i + 2)
    if _measured(tokens, i + 2) or following in _NOT_LABELS - {"and"}:
        return 0
    if (
        following
        and following not in _JOINS
        and following not in ("no", "so", "?", "!")
        and not is_number_word(tokens[i + 2])
    ):
        return 0
    return i + 2


def _following_labels(
    tokens: Sequence[Token], i: int, last: int | None, eaten: frozenset[int], found: set[int]
) -> int:
    """Find the labels that go on counting: "vane one twenty six two twenty seven three …"; return where to go on."""
    at = i
    while last is not None:
        value_end = _short_value_end(tokens, at, eaten)
        if value_end is None:
            return at
        step = value_end
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


def _short_value_end(tokens: Sequence[Token], i: int, eaten: frozenset[int]) -> int | None:
    """Return the end of a value of two figures or a decimal at ``i``, with its unit, as feelers give."""
    at = i
    while _norm(tokens, at) in _COPULAS or _norm(tokens, at) in ("a", ",", "about", "still", ":"):
        at += 1
    if at >= len(tokens) or at in eaten:
        return None
    best: int | None = None
    norm = tokens[at].norm
    if (
        norm in TENS
        or norm in TEENS
        or norm in ("point", "nought", "zero", "oh")
        or norm[0].isdecimal()
        or norm[0] == "."
    ):
        for reading in numbers_at(tokens, at):
            small = reading.value < 100 and reading.style in (
                "cardinal",
                "mixed",
                "decimal",
                "digit_run",
                "fraction",
            )
            if (
                small
                and reading.style != "digit_run"
                or reading.style == "digit_run"
                and reading.digits[0] == "0"
            ):
                best = reading.end
                break
    if best is None:
        return None
    names, end = unit_names_at(tokens, best)
    return end if names and not names[0].foreign else best


def _run_of_pairs(tokens: Sequence[Token], i: int, eaten: frozenset[int], found: set[int]) -> int:
    """Find labels in "two twenty eight three thirty one four thirty": count and value in turn."""
    first = label_value(tokens, i)
    if first is None or _norm(tokens, i - 1) in ("point", "and") or (i and is_number_word(tokens[i - 1])):
        return 0
    pairs: set[int] = set()
    at = i
    last = first
    end: int | None = None
    while True:
        if label_value(tokens, at) != last or at in eaten or _norm(tokens, at + 1) not in (*TENS, *TEENS):
            break
        end_of_value = _short_value_end(tokens, at + 1, eaten)
        if end_of_value is None:
            break
        pairs.add(at)
        end = end_of_value
        at = end
        last += 1
        while _norm(tokens, at) in (",", "and"):
            at += 1
    if len(pairs) < 2 or end is None:
        return 0
    names = unit_names_at(tokens, end)[0] or unit_names_at(tokens, end - 1)[0]
    if names and names[0].unit not in ("in", "mm", "um", None):
        return 0
    found.update(pairs)
    return end
