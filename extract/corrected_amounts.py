"""Amounts put right in the same breath: "thirty, no, thirty one thou", "thirty microns, sorry, thou"."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from extract.number_cues import cue_phrases, cue_words
from extract.spoken_quantity import Meaning, SpokenQuantity
from extract.spoken_units import UnitName, unit_names_at
from extract.tokens import Token
from shared.units import KIND_OF_UNIT

_CORRECTING: Final = cue_words("correcting")
_TRIGGERS: Final = cue_phrases("correction_triggers")
_TRIGGER_WORDS: Final = frozenset(trigger[0] for trigger in _TRIGGERS)
_SURE_TRIGGERS: Final = cue_phrases("sure_correction_triggers")
_ENDING_TRIGGERS: Final = cue_phrases("ending_correction_triggers")
#: Lengths as parts of something unsaid.
_LENGTHS: Final = frozenset({"hundredths", "thou", "tenths", "mil", "mm", "in"})
_LONGEST_GAP: Final = 12
#: Said behind a "sorry" these are a name or a preposition, no unit.
_NO_UNITS: Final = frozenset({"in", "mike", "mikes", "mic", "c", "f", "g", "m", '"', "off", "second"})


def whole_of_range(quantities: list[SpokenQuantity]) -> list[SpokenQuantity]:
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


def like_units(first: SpokenQuantity, second: SpokenQuantity) -> bool:
    """Tell whether two may share a unit: one of them has none, or both measure the same."""
    a, b = first.best, second.best
    if a is None or b is None:
        return False
    if a.said_unit is None or b.said_unit is None:
        return True
    if a.unit is None or b.unit is None:
        return a.said_unit == b.said_unit or {a.said_unit, b.said_unit} <= _LENGTHS
    return KIND_OF_UNIT[a.unit] == KIND_OF_UNIT[b.unit]


def _triggered(gap: tuple[str, ...]) -> bool:
    return not _TRIGGER_WORDS.isdisjoint(gap) and any(_has_phrase(gap, trigger) for trigger in _TRIGGERS)


def _has_phrase(gap: tuple[str, ...], phrase: tuple[str, ...]) -> bool:
    size = len(phrase)
    return any(gap[k : k + size] == phrase for k in range(len(gap) - size + 1))


def put_right(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], gaps: list[tuple[str, ...]]
) -> list[SpokenQuantity]:
    """Mark the amounts that were denied, or put right by the one after them."""
    done = list(quantities)
    for k, quantity in enumerate(done):
        if _denied(tokens, quantity.tokens[0]) and len(done) > 1 and quantity.role == "value":
            done[k] = quantity._replace(role="denied")
    for k, gap in enumerate(gaps):
        first, second = done[k], done[k + 1]
        misspoke = _misspoke(tokens, first) and bool(gap) and set(gap) <= _CORRECTING
        if second.role == "denied" or not (_triggered(gap) or misspoke):
            continue
        if not like_units(first, second) and not _said_again(first, second, gap):
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


def _said_again(first: SpokenQuantity, second: SpokenQuantity, gap: tuple[str, ...]) -> bool:
    """Tell "five mils, I mean five grams": the same number with the right unit."""
    a, b = first.best, second.best
    return a is not None and b is not None and a.number == b.number and _ends_correcting(gap)


def _denied(tokens: Sequence[Token], start: int) -> bool:
    """Tell whether "not" stands before an amount, "at" or an article between or not."""
    at = start - 1
    if at > 0 and tokens[at].norm in ("at", "a", "an", "the", "by", "to"):
        at -= 1
    return at >= 0 and tokens[at].norm == "not"


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


def is_correcting(gap: Sequence[str]) -> bool:
    """Tell whether nothing but words of correction stands between two amounts."""
    return set(gap) <= _CORRECTING and _triggered(tuple(gap))


def units_put_right(tokens: Sequence[Token], quantities: Sequence[SpokenQuantity]) -> list[SpokenQuantity]:
    """Give amounts the unit that was said for a wrong one: "thirty microns, sorry, thou"."""
    starts = [quantity.tokens[0] for quantity in quantities[1:]] + [len(tokens)]
    return [
        _with_unit_right(tokens, quantity, following) if quantity.best is not None else quantity
        for quantity, following in zip(quantities, starts, strict=True)
    ]


def _with_unit_right(tokens: Sequence[Token], quantity: SpokenQuantity, following: int) -> SpokenQuantity:
    best = quantity.meanings[0]
    end = quantity.tokens[1]
    # A slip that is no unit at all ("forty five grad, sorry, degrees") stands behind a bare number.
    for start in (end, end + 1) if best.said_unit is None else (end,):
        at = start
        while at < following and at < start + _LONGEST_GAP and tokens[at].norm in _CORRECTING:
            at += 1
        gap = tuple(token.norm for token in tokens[start:at])
        if at >= following or not _triggered(gap) or tokens[at].norm in _NO_UNITS:
            continue
        names, unit_end = unit_names_at(tokens, at)
        if not names or names[0].foreign or unit_end > following:
            continue
        meanings = tuple(_in_unit(best, name) for name in names)
        if best.unit is None or _kind(meanings[0]) in (_kind(best), None):
            return quantity._replace(meanings=meanings, unit_from="carried")
    return quantity


def _kind(meaning: Meaning) -> str | None:
    return None if meaning.unit is None else KIND_OF_UNIT[meaning.unit]


def _in_unit(meaning: Meaning, name: UnitName) -> Meaning:
    return meaning._replace(
        value=meaning.number * name.factor, unit=name.unit, said_unit=name.said, cost=meaning.cost + name.cost
    )
