"""By how much a value misses a limit: "twenty six thou, that's two over", "a thou under"; no reading.

It is told behind the value. Where a number stands there alone ("runout two thou over the keyway"), it is the
value itself and nothing is compared.
"""

from __future__ import annotations

from collections.abc import Sequence

from extract.quantity_arcs import Quantity, longest_quantity, quantities_at
from extract.tokens import Token
from extract.word_sets import word_set

#: Right behind the amount.
_MISSING = word_set("compared_amounts.missing")
#: Behind that the clause ends, or what it is compared with follows.
_WITH = word_set("compared_amounts.with")
#: Between the value and the amount.
_LEADS = word_set("compared_amounts.leads")


def amounts_compared(tokens: Sequence[Token]) -> list[Quantity]:
    """Return the amounts by which values that stand before them are out."""
    found: list[Quantity] = []
    for i in range(1, len(tokens)):
        if tokens[i].norm not in _MISSING or not _compared_with(tokens, i + 1):
            continue
        amount = _ending(tokens, i)
        if amount is not None and (_behind_value(tokens, amount.start) or _misses(tokens, i)):
            found.append(amount)
    return found


def _misses(tokens: Sequence[Token], i: int) -> bool:
    """Whether "over" or "under" ends what is said ("runout is a thou over"); "a thou out" is a runout."""
    ends = i + 1 >= len(tokens) or tokens[i + 1].norm in (".", ",", ";")
    return ends and tokens[i].norm in ("over", "under", "above", "below")


def _compared_with(tokens: Sequence[Token], at: int) -> bool:
    """Whether the words end behind "over", or tell over what."""
    if at >= len(tokens):
        return True
    return tokens[at].norm in _WITH and longest_quantity(tokens, at) is None


def _ending(tokens: Sequence[Token], end: int) -> Quantity | None:
    """Return the longest amount right before a token that a comma or a "that's" parts from what is before."""
    for start in range(max(1, end - 5), end):
        whole = any(q.end == end for q in quantities_at(tokens, start))
        if whole and tokens[start - 1].norm in _LEADS:
            return next(q for q in quantities_at(tokens, start) if q.end == end)
    return None


def _behind_value(tokens: Sequence[Token], at: int) -> bool:
    """Whether a value stands before the amount, with nothing but leading words between."""
    while at and tokens[at - 1].norm in _LEADS:
        at -= 1
    return at > 0 and any(
        q.end == at for start in range(max(0, at - 5), at) for q in quantities_at(tokens, start)
    )
