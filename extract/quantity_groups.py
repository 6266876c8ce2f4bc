"""How quantities of one utterance hang together: ranges, tolerances, lists, carried units, corrections."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from extract.carried_units import carry_back, carry_on
from extract.corrected_amounts import like_units, put_right, units_put_right, whole_of_range
from extract.number_cues import cue_phrases, cue_words
from extract.spoken_quantity import Role, SpokenQuantity
from extract.tokens import Token
from extract.tolerances import is_tolerance

_FILLERS: Final = cue_words("fillers")
_RANGE: Final = frozenset(cue_phrases("ranges"))
_LIST: Final = cue_words("list_joins")
_LIMIT_BEFORE: Final = cue_words("limit_before")
_LIMIT_AFTER: Final = cue_words("limit_after")


def group_quantities(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], eaten: frozenset[int]
) -> list[SpokenQuantity]:
    """Set roles and groups, carry units over, and mark what was denied or corrected."""
    if not quantities:
        return quantities
    gaps = [_gap(tokens, first.tokens[1], second.tokens[0], eaten) for first, second in pairwise(quantities)]
    quantities = _roles(tokens, units_put_right(tokens, quantities), gaps)
    quantities = carry_back(tokens, quantities, gaps)
    quantities = carry_on(tokens, quantities, gaps)
    quantities = whole_of_range(quantities)
    return put_right(tokens, quantities, gaps)


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
        elif _is_range(tokens, first, gap) and like_units(first, second):
            roles = ("range_low", "range_high")
        else:
            roles = None
        joined = roles is not None or (set(gap) <= _LIST and like_units(first, second))
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
