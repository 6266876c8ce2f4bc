"""What is said at a rehearsal of a job sheet: a phrase or more for everything on it, always the same."""

from __future__ import annotations

import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import count, cycle
from random import Random
from typing import Literal

from capture.vocabulary.slots import Measured, speakable_units, value_span
from capture.vocabulary.spoken_numbers import number_words
from shared.job_sheet import JobSheet
from shared.lexicon import load_lexicon

Kind = Literal["item", "part", "step", "consumable"]
#: Words that an inch length is said with and that stand in for its unit.
_INCH_WORDS = frozenset(
    ["thou", "thousandths", "mils", "tenths", "tenth", "inch", "inches", "half", "halves", "quarter",
     "quarters", "eighth", "eighths", "sixteenth", "sixteenths", "second", "seconds", "fourth", "fourths"]
)  # fmt: skip
_OUTSIDE_BY = Decimal("0.4")
"""Of the span between the limits: how far outside of them a value is taken."""


@dataclass(frozen=True, slots=True)
class RehearsalPhrase:
    """One phrase and what it must come to."""

    number: int
    """From 1, as printed."""
    text: str
    kind: Kind
    name: str
    """Of the item, part, step or consumable, as on the sheet."""
    form: str
    """How it is called in this phrase."""
    position: str | None = None
    value: Decimal | None = None
    """In the item's unit."""


def rehearsal_phrases(sheet: JobSheet) -> tuple[RehearsalPhrase, ...]:
    """Return the phrases of a sheet: every spoken form of it at least once, values inside and outside."""
    numbers = count(1)
    said = [*_items(sheet), *_parts(sheet), *_steps(sheet), *_consumables(sheet)]
    return tuple(RehearsalPhrase(next(numbers), *one) for one in dict.fromkeys(said))


_Said = tuple[str, Kind, str, str, str | None, Decimal | None]


def _items(sheet: JobSheet) -> Iterator[_Said]:
    units = load_lexicon().units
    for item, entry in sheet.measured.items():
        # By name, not by place: the same item is said the same whatever else stands on the sheet.
        rng = Random(zlib.crc32(item.encode()))  # noqa: S311  not for secrets
        values = list(sample_values(entry))
        places: list[tuple[str | None, str]] = [
            (position, form) for position in entry.positions for form in sheet.spoken_positions(position)
        ]
        places = places or [(None, "")]
        forms = cycle(entry.spoken)
        wanted = max(len(values), len(entry.spoken), len(places))
        for n in range(wanted):
            (position, place), value, form = places[n % len(places)], values[n % len(values)], next(forms)
            number = number_words(value, entry.unit, rng)
            unit = _unit_after(number, entry, units.get(entry.unit, ()))
            yield " ".join(f"{form} {place} {number} {unit}".split()), "item", item, form, position, value


def _unit_after(number: str, entry: Measured, forms: tuple[str, ...]) -> str:
    if entry.unit == "count" or (entry.unit == "in" and _INCH_WORDS & set(number.split())):
        return ""
    spoken = speakable_units(forms)
    return max(spoken, key=lambda form: (form.endswith("s"), -len(form.split()))) if spoken else ""


def sample_values(entry: Measured) -> Iterator[Decimal]:
    """Yield values worth trying: in the middle of the limits, then outside at either end, all plausible."""
    span = value_span(entry)
    limits = [limit for limit in (entry.lower, entry.upper) if limit is not None]
    room = (max(limits) - min(limits)) if len(limits) > 1 else abs(limits[0]) if limits else Decimal(0)
    middle = entry.nominal if entry.nominal is not None else (span.low + span.high) / 2
    wanted = [middle]
    if entry.lower is not None:
        wanted.append(entry.lower - max(span.step, room * _OUTSIDE_BY))
    if entry.upper is not None:
        wanted.append(entry.upper + max(span.step, room * _OUTSIDE_BY))
        wanted.append(entry.upper - max(span.step, room * _OUTSIDE_BY / 2))
    kept = [min(max(value, span.plausible_low, Decimal(0)), span.plausible_high) for value in wanted]
    yield from dict.fromkeys((value / span.step).to_integral_value() * span.step for value in kept)


def _parts(sheet: JobSheet) -> Iterator[_Said]:
    for part in sheet.parts:
        for n, form in enumerate(part.spoken):
            text = f"new {form} fitted" if n == 0 and part.policy == "renew" else f"{form} looks good"
            yield text, "part", part.part, form, None, None


def _steps(sheet: JobSheet) -> Iterator[_Said]:
    for step in sheet.steps:
        for form in step.spoken:
            yield form, "step", step.step, form, None, None


def _consumables(sheet: JobSheet) -> Iterator[_Said]:
    for entry in sheet.consumables:
        for form in entry.spoken:
            yield f"{form} on it", "consumable", entry.name, form, None, None
