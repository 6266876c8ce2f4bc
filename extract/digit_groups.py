"""Equal groups in digits said one by one: "oh three one oh three two oh three oh" is three readings."""

from __future__ import annotations

from collections.abc import Sequence

from extract.number_words import ONES, ZEROS
from extract.tokens import Token

_GROUP_SIZES = (3, 4)


def group_starts(tokens: Sequence[Token]) -> frozenset[int]:
    """Return the indexes at which a new group begins inside a run of single digits.

    A run counts as groups where all are of the same size, three or four, and each starts with a
    zero: readings in thousandths or tenths of them. No number may run over such a start.
    """
    starts: set[int] = set()
    i = 0
    while i < len(tokens):
        if tokens[i].norm not in ZEROS:
            i = _after_digits(tokens, i) if tokens[i].norm in ONES else i + 1
            continue
        end = _after_digits(tokens, i)
        size = even_group_size([token.norm for token in tokens[i:end]]) if end - i >= 6 else 0
        if size:
            starts.update(range(i + size, end, size))
        i = end
    return frozenset(starts)


def even_group_size(norms: Sequence[str]) -> int:
    """Return the size of the equal groups that each start with a zero; 0 where there are none."""
    for size in _GROUP_SIZES:
        if len(norms) % size == 0 and len(norms) > size and all(word in ZEROS for word in norms[::size]):
            return size
    return 0


def _after_digits(tokens: Sequence[Token], i: int) -> int:
    while i < len(tokens) and (tokens[i].norm in ZEROS or tokens[i].norm in ONES):
        i += 1
    return i
