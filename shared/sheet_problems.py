"""What can be wrong with a job sheet as a whole.

Problems make it unusable: an item twice, two readings that nobody could tell apart by ear. Doubts
are probably slips of the pen (a name that stands for nothing); the sheet works and the author is
told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, get_args

from shared.record import ConsumableName

if TYPE_CHECKING:
    from shared.job_sheet import JobSheet
    from shared.sheet_entries import Fastener, Reading

Problem = tuple[tuple[str | int, ...], str]


def problems_of(sheet: JobSheet) -> list[Problem]:
    """Return every contradiction in a sheet as (path of the field, what is wrong)."""
    return [*_names_twice(sheet), *_sound_alike(sheet)]


def doubts_of(sheet: JobSheet, named_positions: Sequence[str]) -> list[Problem]:
    """Return what is probably a slip as (path of the field, what looks wrong).

    ``named_positions`` are those that stand under ``positions`` in the file: a loaded sheet has
    names for every position that its items use.
    """
    return [
        *_photos_twice(sheet),
        *_unnamed_positions(sheet, named_positions),
        *_unknown_parts(sheet),
        *_unknown_consumables(sheet),
        *_implausible_limits(sheet),
        *_positions_alike(sheet),
    ]


def _measured(sheet: JobSheet) -> tuple[tuple[str, Sequence[Reading | Fastener]], ...]:
    return (("readings", sheet.readings), ("fasteners", sheet.fasteners))


def _groups(sheet: JobSheet) -> list[tuple[str, str, list[Any]]]:
    return [
        ("parts", "part", sheet.parts),
        ("consumables", "name", sheet.consumables),
        ("steps", "step", sheet.steps),
    ]


def _names_twice(sheet: JobSheet) -> Iterator[Problem]:
    seen: dict[str, str] = {}
    for group, entries in _measured(sheet):
        for n, entry in enumerate(entries):
            if entry.item in seen:
                yield (group, n, "item"), f"{entry.item} is also {seen[entry.item]}; expected each once"
            seen.setdefault(entry.item, f"{group}[{n}]")
    for group, key, entries_ in _groups(sheet):
        counts = Counter(getattr(entry, key) for entry in entries_)
        for n, entry in enumerate(entries_):
            name = getattr(entry, key)
            if counts[name] > 1 and name in [getattr(e, key) for e in entries_[:n]]:
                yield (group, n, key), f"{name} stands twice; expected each once"


def _photos_twice(sheet: JobSheet) -> Iterator[Problem]:
    wanted = set()
    for n, photo in enumerate(sheet.photos):
        if (photo.of, photo.stage) in wanted:
            yield ("photos", n, "of"), f"{photo.of} {photo.stage} stands twice; expected each once"
        wanted.add((photo.of, photo.stage))


def _unnamed_positions(sheet: JobSheet, named: Sequence[str]) -> Iterator[Problem]:
    for group, entries in _measured(sheet):
        for n, entry in enumerate(entries):
            for at, position in enumerate(entry.positions):
                if named and position not in named:
                    called = ", ".join(sheet.spoken_positions(position))
                    yield (
                        (group, n, "positions", at),
                        f"{position!r} does not stand under positions; it will be called {called}",
                    )


def _unknown_parts(sheet: JobSheet) -> Iterator[Problem]:
    known = set(sheet.part_names)
    for n, part in enumerate(sheet.parts):
        for at, name in enumerate(part.components):
            if name not in known or name == part.part:
                yield (("parts", n, "components", at), _no_part(name))
    for n, consumable in enumerate(sheet.consumables):
        for at, name in enumerate(consumable.for_):
            if name not in known:
                yield (("consumables", n, "for", at), _no_part(name))
    for n, fastener in enumerate(sheet.fasteners):
        if fastener.part is not None and fastener.part not in known:
            yield (("fasteners", n, "part"), _no_part(fastener.part))


def _unknown_consumables(sheet: JobSheet) -> Iterator[Problem]:
    known = get_args(ConsumableName)
    for n, consumable in enumerate(sheet.consumables):
        if consumable.name not in known:
            yield (
                ("consumables", n, "name"),
                f"{consumable.name!r} cannot be recorded; expected one of {', '.join(known)}",
            )


def _no_part(name: str) -> str:
    return f"{name!r} is no other part of this sheet; expected a name under parts"


def _implausible_limits(sheet: JobSheet) -> Iterator[Problem]:
    for group, entries in _measured(sheet):
        for n, entry in enumerate(entries):
            if entry.plausible is None:
                continue
            least, most = entry.plausible
            for name in ("nominal", "lower", "upper"):
                limit = getattr(entry, name)
                if limit is not None and not least <= limit <= most:
                    yield (
                        (group, n, name),
                        f"{name} {limit} lies outside plausible [{least}, {most}]; "
                        "good values would be asked about",
                    )


def _sound_alike(sheet: JobSheet) -> Iterator[Problem]:
    heard: dict[tuple[str, str | None], str] = {}
    for n, reading in enumerate(sheet.readings):
        for at, words in enumerate(reading.spoken):
            key = (words, reading.measured_kind)
            first = heard.setdefault(key, reading.item)
            if first != reading.item:
                where: tuple[str | int, ...] = ("readings", n, "say", at)
                yield (
                    where,
                    f"{first} and {reading.item} are both called {words!r} and both measure "
                    f"{reading.measured_kind}; expected a name of its own for each",
                )


def _positions_alike(sheet: JobSheet) -> Iterator[Problem]:
    spoken: dict[str, str] = {}
    for position in sheet.positions:
        for at, words in enumerate(sheet.spoken_positions(position)):
            first = spoken.setdefault(words, position)
            if first != position:
                yield (
                    ("positions", position, at),
                    f"positions {first} and {position} are both called {words!r}",
                )
