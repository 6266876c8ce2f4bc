"""The history's drawings: readings over hours with their trend, how long rebuilds last, a time line."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from api.history.as_found import Series
from api.history.drawing import (
    BAND,
    GREY,
    Scale,
    head,
    line,
    mark,
    path,
    plain,
    round_marks,
    scale_over,
    words,
)  # fmt: skip
from api.history.lasting import Span
from api.history.rebuilds import OwnRebuild
from api.statistics.survival import Survival
from shared.sheet_entries import Fastener, Reading
from shared.units import SYMBOLS

_WIDTH, _HEIGHT = 560.0, 270.0
_LEFT, _RIGHT, _TOP, _BOTTOM = 74.0, 16.0, 30.0, 46.0


def series_plot(series: Series, name: str, limits: Reading | Fastener | None = None) -> str:
    """Draw as-found readings in their place, their trend and where the trend lies (95 %), and the limits.

    Args:
        series: at least one point.
        name: of the drawing.
        limits: of the item, where the sheet has some.
    """
    bounds = [float(one) for one in _limits(limits)]
    x = scale_over([one.x for one in series.points], _LEFT, _WIDTH - _RIGHT)
    values = [one.value for one in series.points]
    band = _band(series, x)
    # The band is wide at its ends where points are few: it may run out of the drawing, points never do.
    y = scale_over([*values, *bounds], _HEIGHT - _BOTTOM, _TOP, margin=0.12)
    parts = [head(_WIDTH, _HEIGHT, name)]
    if band:
        inside = [(px, _clamp(y.at(value), y)) for px, value in band]
        parts.append(path(inside, fill=BAND))
    axis = "hours on the meter" if series.axis == "hours" else "days since its first rebuild here"
    parts += _axes(x, y, axis, SYMBOLS.get(series.unit, series.unit))
    for value in bounds:
        parts.append(line(_LEFT, y.at(value), _WIDTH - _RIGHT, y.at(value)))
        parts.append(words(_WIDTH - _RIGHT, y.at(value) - 5, f"limit {plain(value)}", anchor="end", size=12))
    if series.trend is not None:
        ends = [series.points[0].x, series.points[-1].x]
        at = [(x.at(one), _clamp(y.at(series.trend.at(one)), y)) for one in ends]
        parts.append(line(*at[0], *at[1]) if series.moves else line(*at[0], *at[1], dashed=True))
    parts += [mark(x.at(one.x), y.at(one.value), one.verdict) for one in series.points]
    return "".join(parts) + "</svg>"


def survival_plot(survival: Survival, own: Sequence[Span], name: str) -> str:
    """Draw which share of rebuilds lasts longer than a time, with its 95 % band; one pump's spans under it.

    Args:
        survival: of all pumps of the type.
        own: spans of the pump whose page it is; none for the type's own page.
        name: of the drawing.
    """
    longest = max([survival.mean_to, *(one.days for one in own)])
    x = Scale(0.0, longest * 1.03, _LEFT, _WIDTH - _RIGHT)
    y = Scale(0.0, 1.0, _HEIGHT - _BOTTOM, _TOP)
    parts = [head(_WIDTH, _HEIGHT, name)]
    known = [
        (time, low, high)
        for time, low, high in zip(survival.times, survival.lows, survival.highs, strict=True)
        if low == low and high == high
    ]
    if known:
        upper = _steps([(0.0, 1.0), *((time, high) for time, _, high in known)])
        lower = _steps([(0.0, 1.0), *((time, low) for time, low, _ in known)])
        area = [(x.at(a), y.at(b)) for a, b in [*upper, *reversed(lower)]]
        parts.append(path(area, fill=BAND))
    parts += _axes(x, y, "days after a rebuild", "not yet back", percent=True)
    curve = _steps([(0.0, 1.0), *zip(survival.times, survival.shares, strict=True)])
    parts.append(path([(x.at(a), y.at(b)) for a, b in curve]))
    if survival.median is not None:
        at = x.at(survival.median)
        parts += [
            line(at, y.at(0.5), at, y.at(0.0), dashed=True),
            line(_LEFT, y.at(0.5), at, y.at(0.5), dashed=True),
        ]
    for one in own:
        parts.append(
            mark(x.at(one.days), y.at(survival.share_after(one.days)), "within" if one.ended else "")
        )
    return "".join(parts) + "</svg>"


def time_line(rebuilds: Sequence[OwnRebuild], now: datetime, name: str) -> str:
    """Draw a pump's rebuilds on a line of time, the hours that it ran between them over it.

    Args:
        rebuilds: of the pump, in their order; those without a date are left out.
        now: the moment, where the line ends.
        name: of the drawing.
    """
    dated = [(one.at, one) for one in rebuilds if one.at is not None]
    width, height, middle = 1100.0, 110.0, 56.0
    if not dated:
        return ""
    first, last = dated[0][0].timestamp(), max(now.timestamp(), dated[-1][0].timestamp() + 86400)
    x = Scale(first, last, 24.0, width - 40)
    parts = [head(width, height, name), line(24, middle, width - 40, middle)]
    for year in range(dated[0][0].year + 1, now.year + 1):
        at = x.at(datetime(year, 1, 1, tzinfo=now.tzinfo).timestamp())
        parts += [
            line(at, middle - 7, at, middle + 7, thin=True),
            words(at, height - 6, str(year), anchor="middle", fill=GREY),
        ]
    before, free = None, -1.0
    for at_time, one in dated:
        at = x.at(at_time.timestamp())
        parts.append(mark(at, middle, "within" if one.signed else ""))
        if before is not None and one.hours_since is not None and at - before > 52:
            parts.append(
                words(
                    (at + before) / 2,
                    middle - 12,
                    f"{one.hours_since:.0f} h",
                    anchor="middle",
                    size=12,
                    fill=GREY,
                )
            )
        if at > free:
            parts.append(words(at, middle + 22, at_time.strftime("%m-%d"), anchor="middle", size=12))
            free = at + 40
        before = at
    parts.append(words(width - 34, middle + 5, "now", size=12, fill=GREY))
    return "".join(parts) + "</svg>"


def _axes(x: Scale, y: Scale, across: str, up: str, *, percent: bool = False) -> list[str]:
    parts = [
        line(_LEFT, y.near, _WIDTH - _RIGHT, y.near, thin=True),
        line(_LEFT, y.near, _LEFT, y.far, thin=True),
    ]
    for value in round_marks(x):
        parts += [line(x.at(value), y.near, x.at(value), y.near + 5, thin=True)]
        parts.append(words(x.at(value), y.near + 19, plain(value), anchor="middle", size=12))
    for value in round_marks(y, 4):
        shown = f"{value * 100:.0f} %" if percent else plain(value)
        parts += [line(_LEFT - 5, y.at(value), _LEFT, y.at(value), thin=True)]
        parts.append(words(_LEFT - 9, y.at(value) + 4, shown, anchor="end", size=12))
    parts.append(words((_LEFT + _WIDTH - _RIGHT) / 2, _HEIGHT - 8, across, anchor="middle", fill=GREY))
    parts.append(words(8, 18, up, fill=GREY))
    return parts


def _band(series: Series, x: Scale) -> list[tuple[float, float]]:
    """Return the outline of where the trend lies, pixels across and values up."""
    if series.trend is None:
        return []
    first, last = series.points[0].x, series.points[-1].x
    places = [first + (last - first) * n / 24 for n in range(25)]
    bands = [series.trend.band(one) for one in places]
    upper = [(x.at(one), band.high) for one, band in zip(places, bands, strict=True)]
    lower = [(x.at(one), band.low) for one, band in zip(places, bands, strict=True)]
    return [*upper, *reversed(lower)]


def _clamp(pixel: float, y: Scale) -> float:
    return min(max(pixel, y.far), y.near)


def _steps(points: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return a curve that falls in steps: each value holds until the next time."""
    found: list[tuple[float, float]] = []
    for time, value in points:
        if found:
            found.append((time, found[-1][1]))
        found.append((time, value))
    return found


def _limits(entry: Reading | Fastener | None) -> list[Decimal]:
    return [] if entry is None else [one for one in (entry.lower, entry.upper) if one is not None]
