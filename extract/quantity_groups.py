"""How quantities of one utterance hang together: ranges, tolerances, lists, carried units, corrections."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final

from extract.number_cues import cue_phrases, cue_words
from extract.spoken_quantity import Meaning, Role, SpokenQuantity
from extract.tokens import Token
from extract.tolerances import is_tolerance
from shared.units import KIND_OF_UNIT, KINDS

_FILLERS: Final = cue_words("fillers")
_RANGE: Final = frozenset(cue_phrases("ranges"))
_LIST: Final = cue_words("list_joins")
_CORRECTING: Final = cue_words("correcting")
_TRIGGERS: Final = cue_phrases("correction_triggers")
_SURE_TRIGGERS: Final = cue_phrases("sure_correction_triggers")
_ENDING_TRIGGERS: Final = cue_phrases("ending_correction_triggers")
_PLACES: Final = cue_words("places")
_KIND_WORDS: Final = {word: kind for kind in KINDS for word in cue_words(f"kind_{kind}")}
_NOT_BACK: Final = cue_words("not_back")
_LIMIT_BEFORE: Final = cue_words("limit_before")
_LIMIT_AFTER: Final = cue_words("limit_after")
_FAR: Final = 10
_NEAR: Final = 4
_LONGEST_GAP: Final = 12


def group_quantities(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], eaten: frozenset[int]
) -> list[SpokenQuantity]:
    """Set roles and groups, carry units over, and mark what was denied or corrected."""
    if not quantities:
        return quantities
    gaps = [_gap(tokens, first.tokens[1], second.tokens[0], eaten) for first, second in pairwise(quantities)]
    quantities = _roles(tokens, quantities, gaps)
    quantities = _carry_back(quantities, gaps)
    quantities = _carry_on(tokens, quantities, gaps)
    quantities = _whole_of_range(quantities)
    return _corrections(tokens, quantities, gaps)


def _gap(tokens: Sequence[Token], start: int, end: int, eaten: frozenset[int]) -> tuple[str, ...]:
    return tuple(
        tokens[k].norm for k in range(start, end) if k not in eaten and tokens[k].norm not in _FILLERS
    )


def _roles(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], gaps: list[tuple[str, ...]]
) -> list[SpokenQuantity]:
    done = list(quantities)
    group = 0
    linked = False
    for k, gap in enumerate(gaps):
        first, second = done[k], done[k + 1]
        if is_tolerance(gap) and len(gap) <= 6:
            roles: tuple[Role, Role] | None = ("nominal", "tolerance")
        elif _is_range(tokens, first, gap) and _like_units(first, second):
            roles = ("range_low", "range_high")
        else:
            roles = None
        joined = roles is not None or (set(gap) <= _LIST and _like_units(first, second))
        if joined:
            group += not linked
            done[k] = first._replace(group=group, role=roles[0] if roles else first.role)
            done[k + 1] = second._replace(group=group, role=roles[1] if roles else "value")
        linked = joined
    return [q._replace(role="limit") if q.role == "value" and _is_limit(tokens, q) else q for q in done]


def _is_range(tokens: Sequence[Token], first: SpokenQuantity, gap: tuple[str, ...]) -> bool:
    if gap in _RANGE:
        return True
    before = {token.norm for token in tokens[max(0, first.tokens[0] - 2) : first.tokens[0]]}
    return (gap == ("and",) and "between" in before) or (gap == ("up", "to") and "from" in before)


def _is_limit(tokens: Sequence[Token], quantity: SpokenQuantity) -> bool:
    before = {token.norm for token in tokens[max(0, quantity.tokens[0] - 3) : quantity.tokens[0]]}
    after = {token.norm for token in tokens[quantity.tokens[1] : quantity.tokens[1] + 1]}
    return not before.isdisjoint(_LIMIT_BEFORE) or not after.isdisjoint(_LIMIT_AFTER)


def _is_time(quantity: SpokenQuantity) -> bool:
    best = quantity.best
    return best is not None and best.unit is not None and KIND_OF_UNIT[best.unit] in ("time", "count", None)


def _said(quantity: SpokenQuantity) -> bool:
    best = quantity.best
    return quantity.vague_unit is not None or (best is not None and best.said_unit is not None)


def _like_units(first: SpokenQuantity, second: SpokenQuantity) -> bool:
    """Tell whether two may share a unit: one of them has none, or both measure the same."""
    a, b = first.best, second.best
    if a is None or b is None:
        return False
    if a.said_unit is None or b.said_unit is None:
        return True
    if a.unit is None or b.unit is None:
        return a.said_unit == b.said_unit
    return KIND_OF_UNIT[a.unit] == KIND_OF_UNIT[b.unit]


def _carry_back(quantities: list[SpokenQuantity], gaps: list[tuple[str, ...]]) -> list[SpokenQuantity]:
    done = list(quantities)
    for k in range(len(done) - 2, -1, -1):
        first, second = done[k], done[k + 1]
        if _said(first) or not _said(second) or first.counts or not first.meanings:
            continue
        gap = gaps[k]
        close = first.role in ("range_low", "nominal") or set(gap) <= _LIST or gap in (("not",), (",", "not"))
        tolerance = second.role == "tolerance"
        if close or (len(gap) <= 6 and set(gap) <= _PLACES - _NOT_BACK and not _is_time(second)):
            done[k] = _carried(first, second, None if tolerance else _FAR if close else _NEAR)
        elif set(gap) <= _CORRECTING and _triggered(gap):
            done[k] = _carried(first, second, _FAR)
    return done


def _carry_on(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], gaps: list[tuple[str, ...]]
) -> list[SpokenQuantity]:
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
        structural = (
            second.role in ("range_high", "tolerance") or set(gap) <= _LIST or gap in (("not",), (",", "not"))
        )
        if structural and not gap and kind in ("time", "count"):
            continue
        correcting = _triggered(gap) and set(gap) <= _CORRECTING
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


def _whole_of_range(quantities: list[SpokenQuantity]) -> list[SpokenQuantity]:
    """Complete "two oh nine point five five to point six five": the whole part was said once."""
    done = list(quantities)
    for k in range(1, len(done)):
        if done[k].role == "range_high":
            done[k] = _with_whole_of(done[k], done[k - 1])
    return done


def _with_whole_of(quantity: SpokenQuantity, source: SpokenQuantity) -> SpokenQuantity:
    """Complete the "point five three" of "159 point five one sorry point five three"."""
    low, high = source.best, quantity.best
    if low is None or high is None or low.style != "decimal" or high.style != "decimal":
        return quantity
    if not 0 < high.number < 1 <= low.number or low.unit != high.unit:
        return quantity
    whole = low.number // 1
    factor = high.value / high.number
    completed = high._replace(
        number=high.number + whole, value=(high.number + whole) * factor, cost=high.cost - 0.5
    )
    return quantity._replace(meanings=(completed, *quantity.meanings))


def _triggered(gap: tuple[str, ...]) -> bool:
    return any(_has_phrase(gap, trigger) for trigger in _TRIGGERS)


def _has_phrase(gap: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    size = len(phrase)
    return any(gap[k : k + size] == phrase for k in range(len(gap) - size + 1))


def _corrections(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], gaps: list[tuple[str, ...]]
) -> list[SpokenQuantity]:
    done = list(quantities)
    for k, quantity in enumerate(done):
        before = tokens[quantity.tokens[0] - 1].norm if quantity.tokens[0] else ""
        if before == "not" and len(done) > 1 and quantity.role == "value":
            done[k] = quantity._replace(role="denied")
    for k, gap in enumerate(gaps):
        first, second = done[k], done[k + 1]
        misspoke = _misspoke(tokens, first) and bool(gap) and set(gap) <= _CORRECTING
        if second.role == "denied" or not (_triggered(gap) or misspoke) or not _like_units(first, second):
            continue
        only = set(gap) <= _CORRECTING
        sure = any(_has_phrase(gap, trigger) for trigger in _SURE_TRIGGERS) or _ends_correcting(gap)
        if not only and (not sure or len(gap) > _LONGEST_GAP):
            continue
        if (gap and gap[0] in ("and", "then")) or _no_of(gap):
            continue
        done[k] = first._replace(role="corrected")
        done[k + 1] = _with_whole_of(second, first)
        # A corrected list or range goes as a whole up to its first member only where it was one value each.
        back = k
        while first.role in ("range_high", "tolerance") and back > 0 and done[back - 1].group == first.group:
            back -= 1
            done[back] = done[back]._replace(role="corrected")
            first = done[back]
    return done


def _misspoke(tokens: Sequence[Token], quantity: SpokenQuantity) -> bool:
    """Tell whether "i said" stands before an amount."""
    before = tuple(token.norm for token in tokens[max(0, quantity.tokens[0] - 2) : quantity.tokens[0]])
    return before in (("i", "said"), ("i", "say"), ("i", "wrote"), ("i", "called"))


def _ends_correcting(gap: tuple[str, ...]) -> bool:
    """Tell whether behind other words a correction begins that leads up to the next number."""
    for at in range(len(gap)):
        if any(gap[at : at + len(phrase)] == phrase for phrase in _ENDING_TRIGGERS):
            return set(gap[at:]) <= _CORRECTING
    return False


def _no_of(gap: tuple[str, ...]) -> bool:
    """Tell "no more than", "no less than" from a correction."""
    return (
        _has_phrase(gap, ("no", "more")) or _has_phrase(gap, ("no", "less")) or _has_phrase(gap, ("no", "go"))
    )
