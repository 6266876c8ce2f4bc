"""As-found readings of a pump over its hours (or days): each item and position, with its trend."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.history.rebuilds import PumpName, Rebuild
from api.statistics.chance import holm
from api.statistics.fitted_line import FittedLine, trend_of
from api.statistics.shared_scatter import chances_of, step_of
from api.store.archive_tables import ArchivedEntry
from api.store.asked_at_once import at_once

Axis = Literal["hours", "days"]
_Key = tuple[str, str | None, str]
#: How often a page may call a change what is only scatter: once in a hundred pages.
ALARM = 0.01
#: Hours are taken where at least this share of the readings has some; else days.
_MOSTLY = 0.6


@dataclass(frozen=True)
class Found:
    """One reading as found."""

    record_id: int
    item: str
    position: str | None
    value: float
    unit: str
    verdict: str


@dataclass(frozen=True)
class Point:
    """A reading in its place on the axis."""

    x: float
    value: float
    verdict: str
    rebuild: Rebuild


@dataclass(frozen=True)
class Series:
    """The readings of one item at one position, one a rebuild."""

    item: str
    position: str | None
    unit: str
    axis: Axis
    """Hours on the pump's meter, or days since its first rebuild."""
    points: tuple[Point, ...]
    left_out: int
    """Readings that nobody can place on the axis."""
    trend: FittedLine | None
    chance: float = 1.0
    """How often scatter alone would look like this, everything that was looked at considered."""

    @property
    def moves(self) -> bool:
        """Whether the readings change, more surely than scatter explains."""
        return self.trend is not None and self.chance < ALARM

    @property
    def per_1000(self) -> float | None:
        """The change in 1,000 hours, or in 365 days, in the item's unit."""
        return None if self.trend is None else self.trend.slope * self.stretch

    @property
    def per_1000_interval(self) -> tuple[float, float] | None:
        """Between which the change lies, 95 %."""
        if self.trend is None:
            return None
        known = self.trend.slope_interval()
        return known.low * self.stretch, known.high * self.stretch

    @property
    def stretch(self) -> float:
        """What a change is told for."""
        return 1000.0 if self.axis == "hours" else 365.0


def readings_found(session: Session, rebuilds: Sequence[Rebuild]) -> list[Found]:
    """Return the sure as-found readings of rebuilds.

    Args:
        session: any.
        rebuilds: whose.
    """
    ids = [one.record_id for one in rebuilds]
    found: list[Found] = []
    for some in at_once(ids):
        wanted = select(
            ArchivedEntry.record_id, ArchivedEntry.item, ArchivedEntry.position, ArchivedEntry.value,
            ArchivedEntry.unit, ArchivedEntry.verdict,
        ).where(
            ArchivedEntry.record_id.in_(some), ArchivedEntry.kind == "reading",
            ArchivedEntry.stage == "as_found", ArchivedEntry.fate.is_(None),
            ArchivedEntry.needs_review.is_(False), ArchivedEntry.value.is_not(None),
        ).order_by(ArchivedEntry.id)  # fmt: skip
        found += [
            Found(record_id, item or "", position, value or 0.0, unit or "", verdict or "")
            for record_id, item, position, value, unit, verdict in session.execute(wanted)
        ]
    return found


def series_of(
    of_pump: Mapping[PumpName, Sequence[Rebuild]], readings: Sequence[Found]
) -> dict[PumpName, list[Series]]:
    """Return the series of all pumps of a type, those that move first.

    Whether one moves is judged with the scatter of all pumps at that item and position, and all series of the
    type are looked at together.

    Args:
        of_pump: the rebuilds of each pump, in their order.
        readings: of these rebuilds; others are left out.
    """
    pump_of = {one.record_id: pump for pump, rebuilds in of_pump.items() for one in rebuilds}
    groups: dict[tuple[PumpName, _Key], dict[int, Found]] = {}
    for one in readings:
        if one.record_id in pump_of:
            key = (one.item, one.position, one.unit)
            groups.setdefault((pump_of[one.record_id], key), {})[one.record_id] = one
    of_record = {pump: {one.record_id: one for one in rebuilds} for pump, rebuilds in of_pump.items()}
    made = [(pump, _series(key, group, of_record[pump])) for (pump, key), group in groups.items()]
    chances = holm(_chances([one for _, one in made]))
    found: dict[PumpName, list[Series]] = {pump: [] for pump in of_pump}
    for (pump, one_series), chance in zip(made, chances, strict=True):
        found[pump].append(replace(one_series, chance=chance))
    for of_one in found.values():
        of_one.sort(key=lambda one: (not one.moves, one.item, one.position or ""))
    return found


def _chances(series: Sequence[Series]) -> list[float]:
    """Return how often scatter alone looks like each, judged with those of the same item and position."""
    alike: dict[tuple[_Key, Axis], list[int]] = {}
    for number, one in enumerate(series):
        if one.trend is not None:
            alike.setdefault(((one.item, one.position, one.unit), one.axis), []).append(number)
    found = [1.0] * len(series)
    for numbers in alike.values():
        step = step_of([point.value for number in numbers for point in series[number].points])
        trends = [trend for number in numbers if (trend := series[number].trend) is not None]
        for number, chance in zip(numbers, chances_of(trends, step), strict=True):
            found[number] = chance
    return found


def _series(key: _Key, group: Mapping[int, Found], of_record: Mapping[int, Rebuild]) -> Series:
    item, position, unit = key
    rebuilds = [of_record[one] for one in group]
    # One meter all along: a meter that went back, or another pump, makes hours no axis.
    known = [one for one in rebuilds if one.hours is not None]
    one_meter = not any(one.doubt for one in of_record.values())
    axis: Axis = "hours" if one_meter and len(known) >= max(3, _MOSTLY * len(rebuilds)) else "days"
    first = min((one.at for one in of_record.values() if one.at is not None), default=None)
    points: list[Point] = []
    for reading in group.values():
        rebuild = of_record[reading.record_id]
        if axis == "hours" and rebuild.hours is not None:
            points.append(Point(rebuild.hours, reading.value, reading.verdict, rebuild))
        elif axis == "days" and rebuild.at is not None and first is not None:
            days = (rebuild.at - first).total_seconds() / 86400
            points.append(Point(days, reading.value, reading.verdict, rebuild))
    points.sort(key=lambda one: one.x)
    trend = trend_of([one.x for one in points], [one.value for one in points])
    return Series(item, position, unit, axis, tuple(points), len(group) - len(points), trend)
