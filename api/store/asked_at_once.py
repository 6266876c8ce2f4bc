"""Questions about many rows, cut into as many values as every kind of database takes at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

_Value = TypeVar("_Value")
#: SQLite takes 32,766 values in one question; fewer are planned sooner.
MOST = 5000


def at_once(values: Sequence[_Value]) -> Iterator[Sequence[_Value]]:
    """Yield values in pieces of at most :data:`MOST`, in their order."""
    for start in range(0, len(values), MOST):
        yield values[start : start + MOST]
