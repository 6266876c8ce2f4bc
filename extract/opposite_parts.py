"""Two parts of one kind at opposite places: the inboard and the outboard bearing, of four bearings."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from extract.word_sets import word_list

_OPPOSITES = tuple(tuple(pair.split("/")) for pair in word_list("opposite_parts.pairs"))


def opposite_pair(parts: Sequence[str]) -> tuple[str, str] | None:
    """Return the only two of several parts whose names differ by opposite places, if just one pair does."""
    pairs = [(a, b) for a, b in combinations(parts, 2) if _opposite(a, b)]
    return pairs[0] if len(pairs) == 1 else None


def _opposite(a: str, b: str) -> bool:
    def named(part: str, place: str) -> str | None:
        return part.removeprefix(f"{place}_") if part.startswith(f"{place}_") else None

    return any(
        named(x, one) is not None and named(x, one) == named(y, other)
        for one, other in _OPPOSITES
        for x, y in ((a, b), (b, a))
    )
