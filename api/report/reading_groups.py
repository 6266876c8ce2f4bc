"""Readings as the report shows them: grouped by item in the sheet's order, each with its drawing."""

from __future__ import annotations

from decimal import Decimal

from api.report.plot import PlotPoint, positions_plot, strip_plot
from api.report.view import Heard, ReadingGroup, ReadingRow
from api.report.wording import (
    NOT_SAID,
    STAGE_WORDS,
    VERDICT_SYMBOLS,
    VERDICT_WORDS,
    decimals_of,
    heard_at,
    item_words,
    limits_words,
    nominal_words,
    position_words,
    said_words,
    uncertainty_words,
    value_words,
)
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry, RebuildRecord, Stage

#: A position's name of so many letters says enough on an axis ("1", "3A", "DE").
_SHORT = 3


def reading_groups(record: RebuildRecord, sheet: JobSheet, stages: tuple[Stage, ...]) -> list[ReadingGroup]:
    """Return the standing readings of some stages, item by item in the sheet's order.

    An item that is wanted and of which nothing was said at any stage stands where the sheet wants it.
    """
    standing = [r for r in record.readings if r.standing and r.stage in stages]
    said = {r.item for r in record.readings if r.standing}
    unsaid = {m.item for m in record.missing if m.item is not None and m.item not in said}
    items = list(dict.fromkeys([*(i for i in sheet.measured), *(r.item for r in standing)]))
    groups: list[ReadingGroup] = []
    for item in items:
        readings = [r for r in standing if r.item == item]
        entry = sheet.measured.get(item)
        if readings or (item in unsaid and entry is not None and entry.stage in stages):
            groups.append(_group(record, sheet, item, readings))
    return groups


def reading_value(sheet: JobSheet, reading: ReadingEntry) -> str:
    """Return a reading's value as it is shown, or all that it may be where it is unsure."""
    decimals = decimals_of(sheet.measured.get(reading.item))
    value = value_words(reading.value_exact, reading.unit, decimals)
    if not reading.needs_review:
        return value
    # Where it may be of another item or position, that is asked with the question; here stand its values.
    valued = [c for c in reading.candidates if c.value_exact is not None or c.value is not None]
    may_be = [value_words(c.value_exact or str(c.value), c.unit or reading.unit, decimals) for c in valued]
    if reading.value_exact is not None:
        # What leads comes first, even where the entry names only its rivals.
        may_be = [value, *(words for words in may_be if words != value)]
    return " or ".join(may_be or ["how much"]) + "?"


def reading_name(sheet: JobSheet, item: str, position: str | None) -> str:
    """Return an item with its position in words: ``Front clearance, vane one``."""
    where = position_words(sheet, position, item)
    return f"{item_words(item)}, {where}" if where else item_words(item)


def _group(record: RebuildRecord, sheet: JobSheet, item: str, readings: list[ReadingEntry]) -> ReadingGroup:
    entry = sheet.measured.get(item)
    order = {position: n for n, position in enumerate(entry.positions if entry else [])}
    said: set[str | None] = {reading.position for reading in readings}
    wanted = [m.position for m in record.missing if m.item == item and m.position not in said]
    placed = [(r.position, r.evidence.utterance, _row(record, sheet, r)) for r in readings]
    placed += [(position, 0, _missing_row(sheet, item, position)) for position in wanted]
    placed.sort(key=lambda place: (order.get(place[0] or "", -1), place[1]))
    rows = [row for _, _, row in placed]
    return ReadingGroup(
        name=item_words(item),
        limits=limits_words(entry),
        nominal=nominal_words(entry),
        uncertainty=uncertainty_words(entry),
        rows=rows,
        plot=_plot(sheet, item, readings, wanted),
        several=len(rows) > 1,
        said=bool(readings),
    )


def _row(record: RebuildRecord, sheet: JobSheet, reading: ReadingEntry) -> ReadingRow:
    return ReadingRow(
        position=position_words(sheet, reading.position, reading.item),
        value=reading_value(sheet, reading),
        said=said_words(reading.value_exact, reading.unit, reading.said_unit),
        verdict=reading.verdict,
        symbol=VERDICT_SYMBOLS[reading.verdict],
        verdict_word=VERDICT_WORDS[reading.verdict],
        heard=heard_at(record, reading.evidence),
        reason=reading.reason or "",
    )


def _missing_row(sheet: JobSheet, item: str, position: str | None) -> ReadingRow:
    return ReadingRow(
        position=position_words(sheet, position, item),
        value=NOT_SAID,
        verdict="missing",
        symbol="○",
        verdict_word="missing",
        heard=Heard("", ""),
    )


def _plot(sheet: JobSheet, item: str, readings: list[ReadingEntry], wanted: list[str | None]) -> str | None:
    entry = sheet.measured.get(item)
    if entry is None or not readings or (entry.lower is None and entry.upper is None):
        return None
    name = f"{item_words(item)} {STAGE_WORDS[readings[0].stage]}"
    order = {position: n for n, position in enumerate(entry.positions)}
    placed = [(reading.position, _point(sheet, reading)) for reading in readings]
    placed += [(place, PlotPoint(_label(sheet, item, place), None, text=NOT_SAID)) for place in wanted]
    placed.sort(key=lambda one: order.get(one[0] or "", -1))
    points = [point for _, point in placed]
    return strip_plot(entry, points[0], name) if len(points) == 1 else positions_plot(entry, points, name)


def _point(sheet: JobSheet, reading: ReadingEntry) -> PlotPoint:
    value = Decimal(reading.value_exact) if reading.value_exact is not None else None
    decimals = decimals_of(sheet.measured.get(reading.item))
    text = value_words(reading.value_exact, "count", decimals) if value is not None else "asked"
    return PlotPoint(_label(sheet, reading.item, reading.position), value, reading.verdict, text)


def _label(sheet: JobSheet, item: str, position: str | None) -> str:
    """Return what stands under a mark: a short position as it is, another as the bench calls it."""
    if position is None or len(position) <= _SHORT:
        return position or ""
    return position_words(sheet, position, item)
