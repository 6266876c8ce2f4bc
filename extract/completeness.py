"""What the sheet wants and nobody gave: readings, photos, part decisions, steps."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from shared.job_sheet import JobSheet
from shared.record import Missing, PartEntry, PhotoEntry, ReadingEntry, StepEntry
from shared.sheet_entries import Limits, words_of

#: What settles a part: it goes back, or another takes its place.
DECISIONS = frozenset({"renewed", "reused"})
Moments = Mapping[tuple[str, str], float]
"""Last second of talk about (item, part, of or step; its name)."""


def missing_of(
    sheet: JobSheet,
    readings: Sequence[ReadingEntry],
    parts: Sequence[PartEntry],
    steps: Sequence[StepEntry],
    photos: Sequence[PhotoEntry],
    moments: Moments,
) -> list[Missing]:
    """Return all that is still missing, in the order of the sheet."""
    return [
        *_readings(sheet, readings, moments),
        *_photos(sheet, photos, moments),
        *_decisions(sheet, parts, moments),
        *_steps(sheet, steps, moments),
    ]


def _readings(sheet: JobSheet, readings: Sequence[ReadingEntry], moments: Moments) -> Iterable[Missing]:
    given = {
        (r.item, r.position)
        for r in readings
        if r.standing
        and not r.needs_review
        and r.value is not None
        and _stage_fits(r.stage, sheet.measured[r.item].stage)
    }
    for item in sheet.measured.values():
        if not item.required:
            continue
        for position in _places(item):
            if (item.item, position) not in given:
                where = f", {sheet.place_of(position, item.item)}" if position else ""
                yield Missing(
                    kind="reading",
                    item=item.item,
                    position=position,
                    moment_s=moments.get(("item", item.item)),
                    text=f"{words_of(item.item)}{where}: no reading",
                )


def _places(item: Limits) -> Sequence[str | None]:
    """Return the positions of an item; one without name where it has none."""
    return item.positions or (None,)


def _stage_fits(given: str, wanted: str) -> bool:
    return wanted == "either" or given in (wanted, "either")


def _photos(sheet: JobSheet, photos: Sequence[PhotoEntry], moments: Moments) -> Iterable[Missing]:
    for wanted in sheet.photos:
        if not wanted.required:
            continue
        taken = [p for p in photos if p.of == wanted.of and p.standing and _stage_fits(p.stage, wanted.stage)]
        # One in which nothing can be seen shows nobody what was wanted.
        if not any(photo.usable for photo in taken):
            moment = moments.get(("of", wanted.of), moments.get(("part", wanted.of)))
            why = "the one taken is not usable" if taken else "not taken"
            yield Missing(
                kind="photo", of=wanted.of, moment_s=moment, text=f"photo of {words_of(wanted.of)}: {why}"
            )


def _decisions(sheet: JobSheet, parts: Sequence[PartEntry], moments: Moments) -> Iterable[Missing]:
    decided: set[str] = set()
    for entry in parts:
        if entry.standing and not entry.needs_review and entry.action in DECISIONS:
            decided.update((entry.part, *sheet.covered_by(entry.part)))
    for part in sheet.parts:
        if part.decide and part.part not in decided:
            yield Missing(
                kind="part_decision",
                part=part.part,
                moment_s=moments.get(("part", part.part)),
                text=f"{words_of(part.part)}: renewed or reused?",
            )


def _steps(sheet: JobSheet, steps: Sequence[StepEntry], moments: Moments) -> Iterable[Missing]:
    # A step that was said to be left out was not forgotten; it stands among the deviations.
    spoken = {entry.step for entry in steps if entry.standing and (not entry.needs_review or not entry.done)}
    for step in sheet.steps:
        if step.required and step.step not in spoken:
            yield Missing(
                kind="step",
                step=step.step,
                moment_s=moments.get(("step", step.step)),
                text=f"{words_of(step.step)}: not said to be done",
            )
