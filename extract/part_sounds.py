"""Parts of a sheet whose names sound nearly alike: "bell" and "bowl", "drive seal" and "driven seal"."""

from __future__ import annotations

from functools import lru_cache

from extract.confusable_numbers import edit_distance
from extract.sounding import sound_of
from shared.job_sheet import JobSheet

#: Of the sounds of the words that differ.
_ALIKE_SHARE = 0.34
_SHORTEST = 2


def parts_sounding_like(sheet: JobSheet, part: str, called: str) -> tuple[str, ...]:
    """Return the other parts that may have been said where a part was heard by a name.

    Args:
        sheet: whose parts are thought of.
        part: the one that was heard.
        called: as it was called.
    """
    others = tuple((other.part, tuple(other.spoken)) for other in sheet.parts if other.part != part)
    return _alike(others, called)


@lru_cache(maxsize=1024)
def _alike(others: tuple[tuple[str, tuple[str, ...]], ...], called: str) -> tuple[str, ...]:
    return tuple(part for part, forms in others if any(_sound_alike(called, form) for form in forms))


def _sound_alike(one: str, other: str) -> bool:
    """Tell whether what differs in two names differs by few sounds; a word more or less is heard."""
    left, right = one.lower().split(), other.lower().split()
    while left and right and left[0] == right[0]:
        left, right = left[1:], right[1:]
    while left and right and left[-1] == right[-1]:
        left, right = left[:-1], right[:-1]
    if len(left) != len(right) or not left:
        return False
    first, second = "".join(map(sound_of, left)), "".join(map(sound_of, right))
    longer = max(len(first), len(second))
    return longer > _SHORTEST and edit_distance(first, second) <= max(1, _ALIKE_SHARE * longer)
