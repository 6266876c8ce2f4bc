"""Units said once and meant for a neighbour as well: lists, ranges, tolerances, places read in turn."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from extract.corrected_amounts import is_correcting
from extract.number_cues import cue_words
from extract.spoken_quantity import Meaning, SpokenQuantity
from extract.tokens import Token
from shared.units import KIND_OF_UNIT, KINDS

_LIST: Final = cue_words("list_joins")
_PLACES: Final = cue_words("places")
_KIND_WORDS: Final = {word: kind for kind in KINDS for word in cue_words(f"kind_{kind}")}
_NOT_BACK: Final = cue_words("not_back")
_THINGS: Final = cue_words("torqued_nouns")
_DENYING: Final = frozenset({"not", ",", "but", "at", "a"})
_FAR: Final = 10
_NEAR: Final = 4
_LONGEST_GAP: Final = 12


def _is_time(quantity: SpokenQuantity) -> bool:
    best = quantity.best
    return best is not None and best.unit is not None and KIND_OF_UNIT[best.unit] in ("time", "count", None)


def _said(quantity: SpokenQuantity) -> bool:
    best = quantity.best
    return quantity.vague_unit is not None or (best is not None and best.said_unit is not None)


def carry_back(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], gaps: list[tuple[str, ...]]
) -> list[SpokenQuantity]:
    """Give bare amounts the unit said with the next: "thirty and thirty one thou"."""
    done = list(quantities)
    for k in range(len(done) - 2, -1, -1):
        first, second = done[k], done[k + 1]
        if _said(first) or not _said(second) or first.counts or not first.meanings:
            continue
        gap = gaps[k]
        close = first.role in ("range_low", "nominal") or set(gap) <= _LIST or _denies(gap)
        close = (close or _comes_to(first, gap)) and not (
            _counted_in_words(tokens, first, second) and not gap
        )
        tolerance = second.role == "tolerance"
        placed = len(gap) <= 6 and not _is_time(second)
        if close or (placed and set(gap) <= (_PLACES - _NOT_BACK) | _named_before(tokens, first)):
            done[k] = _carried(first, second, None if tolerance else _FAR if close else _NEAR)
        elif is_correcting(gap):
            done[k] = _carried(first, second, _FAR)
    return done


def _named_before(tokens: Sequence[Token], quantity: SpokenQuantity) -> set[str]:
    """Return the words before an amount and their like: "coupling nuts 95, coupling bolts 90 foot pounds"."""
    start = quantity.tokens[0]
    words = {token.norm for token in tokens[max(0, start - 4) : start]}
    return words | _THINGS if not words.isdisjoint(_THINGS) else set()


def _counted_in_words(tokens: Sequence[Token], first: SpokenQuantity, second: SpokenQuantity) -> bool:
    """Tell "three 20 thou": how many in words, how thick in figures."""
    return tokens[first.tokens[0]].text.isalpha() and tokens[second.tokens[0]].text[0].isdecimal()


def _comes_to(first: SpokenQuantity, gap: tuple[str, ...]) -> bool:
    """Tell "sixty one point five compressed to forty eight millimetres": one size, before and after."""
    best = first.best
    return best is not None and best.style == "decimal" and 1 < len(gap) <= 3 and gap[-1] == "to"


def _denies(gap: tuple[str, ...]) -> bool:
    return "not" in gap and set(gap) <= _DENYING


def carry_on(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], gaps: list[tuple[str, ...]]
) -> list[SpokenQuantity]:
    """Give bare amounts the unit said with the one before: "thirty thou left and thirty one right"."""
    done = list(quantities)
    for k in range(1, len(done)):
        j = k - 1
        while j > 0 and _is_count(done[j]):
            # "eighty newton metres on two of them and seventy six on the rest"
            j -= 1
        first, second = done[j], done[k]
        if _said(second) or not _said(first) or second.counts or not second.meanings or first.vague_unit:
            continue
        gap = tuple(word for between in gaps[j:k] for word in between)
        best = first.best
        kind = KIND_OF_UNIT.get(best.unit) if best is not None and best.unit else None
        other = {_KIND_WORDS[word] for word in gap if word in _KIND_WORDS} - {kind}
        structural = second.role in ("range_high", "tolerance") or set(gap) <= _LIST or _denies(gap)
        if structural and not gap and kind in ("time", "count"):
            continue
        correcting = is_correcting(gap)
        if structural or correcting:
            limit: int | None = None if second.role == "tolerance" else _FAR
        elif (
            other or len(gap) > _LONGEST_GAP or kind in ("time", "count") or not _placed_value(tokens, second)
        ):
            continue
        elif set(gap) <= _PLACES:
            limit = _FAR
        else:
            limit = _NEAR
        done[k] = _carried(second, first, limit)
    return done


def _is_count(quantity: SpokenQuantity) -> bool:
    best = quantity.best
    return quantity.counts or (best is not None and best.unit == "count")


def _placed_value(tokens: Sequence[Token], quantity: SpokenQuantity) -> bool:
    """Tell whether a bare number reads like a value and not like a count or an age."""
    end = quantity.tokens[1]
    after = tokens[end].norm if end < len(tokens) else ""
    before = tokens[quantity.tokens[0] - 1].norm if quantity.tokens[0] else ""
    if before in cue_words("no_carry_before"):
        return False
    return after not in cue_words("no_carry_after")


def _carried(quantity: SpokenQuantity, source: SpokenQuantity, limit: int | None) -> SpokenQuantity:
    """Give a bare quantity the unit of its neighbour, if the sizes of the numbers allow it."""
    given = source.best
    if given is None or given.said_unit in (None, "hour"):
        return quantity
    meanings: list[Meaning] = []
    for meaning in quantity.meanings:
        factor = _factor(given)
        if factor < 1 and _said_whole(quantity, meaning, given, limit):
            # "1.062 plus or minus fifteen thou": the decimal was said in inches.
            meanings.append(meaning._replace(unit=given.unit, said_unit=given.unit, value=meaning.number))
            continue
        if factor < 1 and meaning.style == "decimal" and meaning.places >= 3:
            # "sleeve 1.8740, and the runout is one and a half thou": so many places are inches.
            continue
        number = _as_said(meaning) if factor < 1 else meaning.number
        if limit is not None and not _similar(number, given.number, limit):
            continue
        meanings.append(
            meaning._replace(unit=given.unit, said_unit=given.said_unit, value=number * factor, number=number)
        )
    best = quantity.best
    if (
        not meanings
        or best is None
        or (limit is not None and meanings[0].number not in (best.number, _as_said(best)))
    ):
        return quantity
    # As likely as the neighbour's: its other units stay possible.
    for rival in source.meanings[1:]:
        if rival.number == given.number and rival.said_unit == given.said_unit and rival.unit != given.unit:
            factor = _factor(rival)
            cost = meanings[0].cost + rival.cost - given.cost
            meanings.append(
                meanings[0]._replace(unit=rival.unit, value=meanings[0].number * factor, cost=cost)
            )
    return quantity._replace(meanings=tuple(sorted(meanings, key=lambda m: m.cost)), unit_from="carried")


def _as_said(meaning: Meaning) -> Fraction:
    """Return the number without the point that was placed in bare digits for want of a unit."""
    if meaning.places and meaning.digits and meaning.style not in ("decimal", "mixed"):
        return Fraction(int(meaning.digits)) * (-1 if meaning.number < 0 else 1)
    return meaning.number


def _said_whole(quantity: SpokenQuantity, meaning: Meaning, given: Meaning, limit: int | None) -> bool:
    """Tell whether a number beside thousandths was said in whole inches: by its places or its tolerance."""
    if limit is not None and limit < _FAR:
        return False
    if quantity.role == "nominal":
        return meaning.number < given.number and meaning.number.denominator > 1
    return meaning.style == "decimal" and meaning.places >= 3 and abs(meaning.number) < 100


def _factor(meaning: Meaning) -> Fraction:
    """Return how much of its unit one of the spoken unit is."""
    if meaning.number:
        return meaning.value / meaning.number
    return {"thou": Fraction(1, 1000), "tenths": Fraction(1, 10_000)}.get(
        meaning.said_unit or "", Fraction(1)
    )


def _similar(number: Fraction, other: Fraction, limit: int) -> bool:
    a, b = abs(number), abs(other)
    return a == 0 or b == 0 or (a <= b * limit and b <= a * limit)
