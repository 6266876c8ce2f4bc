"""Places said by way of others: "the other end", "the next one up", "the middle one", "drive end first"."""

from __future__ import annotations

from collections.abc import Sequence


def with_other(keys: tuple[str, ...], last: str | None, positions: Sequence[str]) -> tuple[str, ...] | None:
    """Return places with "the other" put in for the last of ``keys``; None where there is no pair.

    Args:
        keys: the places said, the last of them "the other".
        last: the place spoken of before; one said along with it wins.
        positions: of the item.
    """
    known = keys[0] if len(keys) > 1 else last
    if len(positions) != 2 or known not in positions:
        return None
    other = next(position for position in positions if position != known)
    return (*keys[:-1], other)


def next_of(last: str | None, positions: Sequence[str]) -> tuple[str, ...] | None:
    """Return the place after the one spoken of last, in the sheet's order; None behind the last of all."""
    at = positions.index(last) + 1 if last is not None and last in positions else len(positions)
    return (positions[at],) if at < len(positions) else None


def middle_of(positions: Sequence[str]) -> tuple[str, ...] | None:
    """Return the middle one of an odd number of numbered places, None where there is none."""
    odd = len(positions) > 1 and len(positions) % 2 == 1
    return (positions[len(positions) // 2],) if odd and all(p.isdigit() for p in positions) else None
