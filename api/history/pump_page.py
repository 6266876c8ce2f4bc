"""What the page of a pump shows, and that of a type, gathered once a request."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy.orm import Session

from api.history.as_found import ALARM, Series, readings_found, series_of
from api.history.drawing import changed
from api.history.faces import FaceRow, face_rows
from api.history.lasting import Span, lasting, sooner_than_others, spans_of
from api.history.plots import series_plot, survival_plot, time_line
from api.history.rebuilds import PumpName, Rebuild, by_pump, rebuilds_of, rebuilds_of_type
from api.history.repeats import Repeat, findings_of, repeats_of
from api.report.wording import item_words
from api.statistics.survival import Survival
from api.store.sheets import newest_sheet
from shared.errors import NotKept
from shared.job_sheet import JobSheet
from shared.units import SYMBOLS

#: Of a type so many rebuilds are looked at, the newest.
MOST_OF_TYPE = 3000


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
    rebuilds: list[Rebuild]
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
    of_pump: dict[PumpName, list[Rebuild]]
    looked_at: int
    whole: bool
    """Whether these are all rebuilds there are."""
    survival: Survival | None
    survival_plot: str
    moving: list[tuple[PumpName, ShownSeries]]
    repeats: list[tuple[PumpName, Repeat]]
    sooner: list[PumpName]


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
    of_type = by_pump(rebuilds_of_type(session, sheet_id, MOST_OF_TYPE))
    of_type[name] = [one for one in rebuilds if one.sheet_id == sheet_id]
    everything = [one for these in of_type.values() for one in these]
    series = series_of(of_type, readings_found(session, everything))[name]
    findings = findings_of(session, everything)
    spans = {pump: spans_of(these, now) for pump, these in of_type.items()}
    survival = lasting([one for these in spans.values() for one in these])
    own = spans_of(rebuilds, now)
    return PumpPage(
        name=name, sheet=sheet, sheet_id=sheet_id, rebuilds=rebuilds,
        line=time_line(rebuilds, now, f"Rebuilds of {name.shown}"),
        series=[_shown(one, sheet) for one in series if len(one.points) > 1],
        repeats=repeats_of(name, of_type, findings), faces=face_rows(session, folder, rebuilds), own=own,
        survival=survival,
        survival_plot=survival_plot(survival, own, "How long rebuilds of this type last") if survival else "",
        sooner=sooner_than_others(spans, name), pumps=len(of_type),
    )  # fmt: skip


def type_page(session: Session, sheet_id: str, now: datetime) -> TypePage:
    """Gather a type's page; arguments as above.

    Raises:
        NotKept: nothing was ever filed by such a sheet.
    """
    rebuilds = rebuilds_of_type(session, sheet_id, MOST_OF_TYPE)
    if not rebuilds:
        raise NotKept(f"no rebuild by sheet {sheet_id!r} is in the archive", remedy="look for it under Pumps")
    sheet, of_pump = newest_sheet(session, sheet_id), by_pump(rebuilds)
    readings, findings = readings_found(session, rebuilds), findings_of(session, rebuilds)
    spans = {pump: spans_of(these, now) for pump, these in of_pump.items()}
    survival = lasting([one for these in spans.values() for one in these])
    moving: list[tuple[PumpName, ShownSeries]] = []
    repeats: list[tuple[PumpName, Repeat]] = []
    series = series_of(of_pump, readings)
    for pump in of_pump:
        moving += [(pump, _shown(one, sheet)) for one in series[pump] if one.moves]
        repeats += [(pump, one) for one in repeats_of(pump, of_pump, findings) if one.stands_out]
    sooner = [pump for pump in of_pump if (sooner_than_others(spans, pump) or 1.0) < ALARM]
    return TypePage(
        sheet_id=sheet_id, sheet=sheet, of_pump=of_pump, looked_at=len(rebuilds),
        whole=len(rebuilds) < MOST_OF_TYPE, survival=survival,
        survival_plot=survival_plot(survival, (), "How long rebuilds of this type last") if survival else "",
        moving=moving, repeats=repeats, sooner=sooner,
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
