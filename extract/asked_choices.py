"""What a question offers: the ways in which an unsure entry may be meant, each whole, in the order asked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from shared.job_sheet import JobSheet
from shared.record import Candidate, ConditionEntry, Entry, PartEntry, ReadingEntry, StepEntry
from shared.sheet_entries import words_of

#: More than so many nobody keeps in mind.
MOST_CHOICES = 4
#: What a candidate may differ by; one that differs by several things together is one choice all the same.
_OF_READING = ("item", "position", "value_exact")
_OF_PART = ("part", "condition", "action")


@dataclass(frozen=True)
class Choice:
    """One way in which an entry may be meant; what is None is as the entry has it."""

    item: str | None = None
    position: str | None = None
    value_exact: str | None = None
    """In the unit of its item."""
    part: str | None = None
    condition: str | None = None
    action: str | None = None

    @property
    def value(self) -> Fraction | None:
        """The value, exact; None where it is not what the choices differ by."""
        return None if self.value_exact is None else Fraction(self.value_exact)


@dataclass(frozen=True)
class Choices:
    """What can be answered."""

    offered: tuple[Choice, ...]
    """One: it is asked whether that is so. Several: which. None: how much."""


def choices_of(sheet: JobSheet, entry: Entry) -> Choices | None:
    """Return what a question about an entry offers; None where a few words cannot answer it."""
    if isinstance(entry, ReadingEntry):
        return _of_reading(sheet, entry)
    if isinstance(entry, ConditionEntry | PartEntry):
        return None if entry.unlisted else _of_part(entry)
    if isinstance(entry, StepEntry):
        return Choices((Choice(),)) if not entry.candidates else None
    return None


def names_of(sheet: JobSheet, entry: Entry, choice: Choice) -> tuple[str, ...]:
    """Return everything that a choice is called aloud, its value aside."""
    if choice.position is not None:
        item = choice.item or (entry.item if isinstance(entry, ReadingEntry) else None)
        return (sheet.place_of(choice.position, item), *sheet.spoken_positions(choice.position))
    if choice.item is not None:
        return (words_of(choice.item), *sheet.measured[choice.item].spoken)
    if choice.part is not None:
        spoken = sheet.part_names[choice.part].spoken if choice.part in sheet.part_names else ()
        return (words_of(choice.part), *spoken)
    return tuple(words_of(word) for word in (choice.condition, choice.action) if word)


def _of_reading(sheet: JobSheet, entry: ReadingEntry) -> Choices | None:
    differing = _differing(entry.candidates, _OF_READING)
    if differing is None or any(c.unit not in (None, entry.unit) for c in entry.candidates):
        return None
    kinds = {frozenset(_named(choice)) for choice in differing}
    if any(len(kind) > 1 for kind in kinds):
        # Whole ways beside each other: which of them is what is asked.
        return _whole(sheet, entry, differing) if len(kinds) == 1 else None
    places = [Choice(position=entry.position)] if entry.position is not None else []
    leading = [Choice(value_exact=entry.value_exact)] if entry.value_exact is not None else []
    values = _once([*leading, *(c for c in differing if c.value_exact is not None)])
    places = _once([*places, *(c for c in differing if c.position is not None)])
    items = [c for c in differing if c.item is not None]
    doubtful = [choices for choices in (values, places, items) if len(choices) > 1]
    if len(doubtful) > 1 or len(items) == 1:
        return None
    only = values[0].value_exact if len(values) == 1 else None
    chosen = doubtful[0] if doubtful else values
    return _whole(sheet, entry, [Choice(c.item, c.position, c.value_exact or only) for c in chosen])


def _once(choices: Sequence[Choice]) -> list[Choice]:
    return list({(choice.position, choice.value): choice for choice in choices}.values())


def _whole(sheet: JobSheet, entry: ReadingEntry, offered: Sequence[Choice]) -> Choices | None:
    """Return the choices where each of them would leave nothing open."""
    if len(offered) > MOST_CHOICES:
        return None
    for choice in offered or (Choice(),):
        item = sheet.measured.get(choice.item or entry.item)
        position = choice.position or entry.position
        if item is None or (position is None) != (not item.positions):
            return None
        if offered and choice.value_exact is None:
            return None
    return Choices(tuple(offered))


def _of_part(entry: ConditionEntry | PartEntry) -> Choices | None:
    differing = _differing(entry.candidates, _OF_PART)
    if differing is None:
        return None
    kinds = {frozenset(_named(choice)) for choice in differing}
    if not kinds:
        return Choices((Choice(),))
    if len(kinds) > 1 or len(next(iter(kinds))) != 1:
        return None
    kind = next(iter(next(iter(kinds))))
    own = Choice(**{kind: getattr(entry, kind, None)})
    if getattr(own, kind) is None:
        return None
    offered = tuple(dict.fromkeys((own, *differing)))
    return Choices(offered) if len(offered) <= MOST_CHOICES else None


def _differing(candidates: Sequence[Candidate], allowed: Sequence[str]) -> list[Choice] | None:
    """Return candidates as choices; None where one differs by something that no few words settle."""
    found = []
    for candidate in candidates:
        said = {name for name in candidate.model_dump(exclude_none=True) if name not in ("value", "unit")}
        if not said or not said <= set(allowed):
            return None
        found.append(Choice(**{name: getattr(candidate, name) for name in said}))
    return list(dict.fromkeys(found))


def _named(choice: Choice) -> set[str]:
    return {name for name in (*_OF_READING, *_OF_PART) if getattr(choice, name) is not None}
