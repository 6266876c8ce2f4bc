"""Natural bench talk, written by hand for some pumps, made to speak of any other.

The words of a line that belong to one machine (parts, items, positions, values) are slots; filled with
the words of another sheet, the line keeps how mechanics talk and says what this sheet can hear.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from capture.vocabulary.line_slots import Piece, pieces_of
from capture.vocabulary.natural_text import natural_lines
from capture.vocabulary.slots import Measured, SheetWords


@cache
def _all_pieces() -> tuple[tuple[Piece, ...], ...]:
    return tuple(pieces_of(line) for line in natural_lines())


def refilled_lines(words: SheetWords, times: int) -> Iterator[str]:
    """Yield every natural line that has slots, filled ``times`` over with the sheet's words."""
    yield from refill(_all_pieces(), words, times)


def refill(lines: tuple[tuple[Piece, ...], ...], words: SheetWords, times: int) -> Iterator[str]:
    """Fill the slots of lines ``times`` over, values and units with those of an item of the line's kind."""
    by_kind: dict[str, list[Measured]] = {}
    for entry in words.items:
        by_kind.setdefault(entry.measured_kind or entry.unit, []).append(entry)
    for pieces in lines:
        if not any(piece.slot for piece in pieces):
            continue
        pool = _items_for(pieces, words.items, by_kind)
        for _ in range(times):
            item = words.rng.choice(pool) if pool else None
            yield " ".join(_filled(piece, words, item) for piece in pieces if piece.words)


def _items_for(
    pieces: tuple[Piece, ...], items: list[Measured], by_kind: dict[str, list[Measured]]
) -> list[Measured]:
    """Return the items that a line may speak of; none where the sheet measures nothing of its kind."""
    kind = next((piece.kind for piece in pieces if piece.kind), "")
    pool = by_kind.get(kind, []) if kind else items
    if any(piece.slot == "pos" for piece in pieces):
        return [entry for entry in pool if entry.positions] or pool
    return pool


def _filled(piece: Piece, words: SheetWords, entry: Measured | None) -> str:
    if not piece.slot:
        return piece.words
    pool = {"part": words.one_part, "parts": words.many_parts, "cons": words.consumables}.get(piece.slot)
    if pool is not None:
        return (words.rng.choice(pool) if pool else piece.words) + piece.tail
    if piece.slot == "count":
        return words.small_count() + piece.tail
    if entry is None:
        return piece.words + piece.tail
    said = {"value": words.value, "unit": words.unit, "pos": words.position}.get(piece.slot)
    return (said(entry) if said else words.rng.choice(entry.spoken)) + piece.tail
