"""What the page of a pump shows, and that of a type, gathered once a request."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy.orm import Session

from api.history.as_found import ALARM, Series
from api.history.drawing import changed
from api.history.faces import FaceRow, face_rows
from api.history.lasting import Span, lasting, sooner_than_others, spans_of
from api.history.plots import series_plot, survival_plot, time_line
from api.history.rebuilds import OwnRebuild, PumpName, Rebuild, rebuilds_of
from api.history.repeats import Repeat, repeats_of
from api.history.type_past import MOST_OF_TYPE, past_of, past_with, spans_of_type, standing_out
from api.report.wording import item_words
from api.statistics.survival import Survival
from api.store.sheets import newest_sheet
from shared.errors import NotKept
from shared.job_sheet import JobSheet
from shared.units import SYMBOLS


@dataclass(frozen=True)
class ShownSeries:
    """A series as a page shows it."""

    series: Series
    title: str
    plot: str
    words: str
    """What the trend comes to, in words."""


@dataclass(frozen=True)
class PumpPage:
    """A pump's history."""

    name: PumpName
    sheet: JobSheet | None
    sheet_id: str
    rebuilds: list[OwnRebuild]
    line: str
    series: list[ShownSeries]
    repeats: list[Repeat]
    faces: list[FaceRow]
    own: list[Span]
    survival: Survival | None
    survival_plot: str
    sooner: float | None
    """See :func:`api.history.lasting.sooner_than_others`."""
    pumps: int
    """Of the type, this one among them."""

    @property
    def comes_back_sooner(self) -> bool:
        """Whether it comes back sooner than the others, which is no chance."""
        return self.sooner is not None and self.sooner < ALARM


@dataclass(frozen=True)
class TypePage:
    """The history of a type of pump."""

    sheet_id: str
    sheet: JobSheet | None
    of_pump: Mapping[PumpName, Sequence[Rebuild]]
    looked_at: int
    whole: bool
    """Whether these are all rebuilds there are."""
    survival: Survival | None
    survival_plot: str
    moving: list[tuple[PumpName, ShownSeries]]
    repeats: Sequence[tuple[PumpName, Repeat]]
    sooner: Sequence[PumpName]


def pump_page(session: Session, folder: Path, name: PumpName, now: datetime) -> PumpPage:
    """Gather a pump's page.

    Args:
        session: any.
        folder: data folder, where pictures lie.
        name: of the pump.
        now: the moment.

    Raises:
        NotKept: nothing was ever filed of such a pump.
    """
    rebuilds = rebuilds_of(session, name)
    if not rebuilds:
        raise NotKept(f"no rebuild of pump {name.shown} is in the archive", remedy="look for it under Pumps")
    sheet_id = rebuilds[-1].sheet_id
    sheet = newest_sheet(session, sheet_id)
    past = past_with(session, sheet_id, name, [one for one in rebuilds if one.sheet_id == sheet_id])
    spans = spans_of_type(past, now)
    survival = lasting([one for these in spans.values() for one in these])
    own = spans_of(rebuilds, now)
    return PumpPage(
        name=name, sheet=sheet, sheet_id=sheet_id, rebuilds=rebuilds,
        line=time_line(rebuilds, now, f"Rebuilds of {name.shown}"),
        series=[_shown(one, sheet) for one in past.series[name] if len(one.points) > 1],
        repeats=repeats_of(name, past.tally), faces=face_rows(session, folder, rebuilds), own=own,
        survival=survival,
        survival_plot=survival_plot(survival, own, "How long rebuilds of this type last") if survival else "",
        sooner=sooner_than_others(spans, name), pumps=len(past.of_pump),
    )  # fmt: skip


def type_page(session: Session, sheet_id: str, now: datetime) -> TypePage:
    """Gather a type's page; arguments as above.

    Raises:
        NotKept: nothing was ever filed by such a sheet.
    """
    past = past_of(session, sheet_id)
    if not past.looked_at:
        raise NotKept(f"no rebuild by sheet {sheet_id!r} is in the archive", remedy="look for it under Pumps")
    sheet = newest_sheet(session, sheet_id)
    survival = lasting([one for these in spans_of_type(past, now).values() for one in these])
    found = standing_out(session, sheet_id, past, now)
    return TypePage(
        sheet_id=sheet_id, sheet=sheet, of_pump=past.of_pump, looked_at=past.looked_at,
        whole=past.looked_at < MOST_OF_TYPE, survival=survival,
        survival_plot=survival_plot(survival, (), "How long rebuilds of this type last") if survival else "",
        moving=[(pump, _shown(one, sheet)) for pump, one in found.moving], repeats=found.repeats,
        sooner=found.sooner,
    )  # fmt: skip


def _shown(series: Series, sheet: JobSheet | None) -> ShownSeries:
    title = item_words(series.item)
    if series.position:
        title += f", {sheet.place_of(series.position, series.item) if sheet else series.position}"
    limits = sheet.measured.get(series.item) if sheet else None
    if limits is not None and (limits.unit != series.unit or limits.stage == "as_left"):
        limits = None  # the limits are of something else
    return ShownSeries(series, title, series_plot(series, f"{title}, as found", limits), _words(series))


def _words(series: Series) -> str:
    """Return what a trend comes to: the change, its interval, and whether it is more than scatter."""
    if series.trend is None or series.per_1000 is None or series.per_1000_interval is None:
        return f"{len(series.points)} readings: too few for a trend."
    unit = SYMBOLS.get(series.unit, series.unit)
    low, high = series.per_1000_interval
    stretch = "1000 h" if series.axis == "hours" else "year"
    change = f"{changed(series.per_1000)} {unit} a {stretch} (95 %: {changed(low)} to {changed(high)})"
    if series.moves:
        return f"{'Rises' if series.per_1000 > 0 else 'Falls'}: {change}, more than scatter explains."
    return f"No change that scatter does not explain: {change}."
