"""Drawings of lessons as SVG that prints in black and white: rates with their intervals, months, times."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from math import ceil, sqrt

from api.lessons.rate_trend import Month, RateTrend
from api.lessons.stage_times import StageTimes
from api.statistics.intervals import Interval, wilson

_INK, _ACT, _GREY, _BAND = "#1a1a1a", "#17406d", "#5a5a5a", "#dfe5ec"


def rate_strip(share: float, known: Interval, most: float) -> str:
    """Draw a rate as a disc on the line of its interval.

    Args:
        share: 0 to 1.
        known: its interval.
        most: share at the right end, above 0.
    """
    width, height, left = 220.0, 24.0, 6.0
    reach = width - 2 * left

    def at(value: float) -> float:
        return left + min(1.0, value / most) * reach

    return (
        _head(width, height, f"{_percent(share)}, {_percent(known.low)} to {_percent(known.high)}")
        + _box(left, 2, reach, 20, "#f3f3f1")
        + _line(at(known.low), 12, at(known.high), 12, _INK, 3)
        + f"<circle cx='{at(share):.1f}' cy='12' r='6' fill='{_ACT}' stroke='#fff'/></svg>"
    )


def months_plot(months: Sequence[Month], trend: RateTrend | None, name: str) -> str:
    """Draw quarters of a year as discs, larger for more cases, with their intervals and the line.

    Args:
        months: with cases; those without a date are left out.
        trend: the line, with the band in which it lies; None where nothing is known of one.
        name: what it is about.
    """
    quarters = quarterly(months)
    if not quarters:
        return ""
    width, height, left, right, top, bottom = 640.0, 260.0, 48.0, 16.0, 14.0, 40.0
    known = [wilson(one.lacking, one.wanted) for one in quarters]
    most = min(1.0, ceil(10 * max(one.lacking / one.wanted for one in quarters) + 1) / 10)
    first, last = quarters[0].year - 0.15, quarters[-1].year + 0.15
    largest = max(one.wanted for one in quarters)

    def across(year: float) -> float:
        return left + (year - first) / (last - first) * (width - left - right)

    def down(share: float) -> float:
        return height - bottom - min(most, max(0.0, share)) / most * (height - top - bottom)

    parts = [_head(width, height, f"{name} by quarter")]
    for step in range(5):
        share = most * step / 4
        parts.append(_line(left, down(share), width - right, down(share), "#d5d5d0", 1))
        parts.append(_text(left - 6, down(share) + 4, _percent(share), "end"))
    if trend is not None:
        ends = [first + 0.15 + (last - first - 0.3) * n / 20 for n in range(21)]
        bands = [trend.line.band(year) for year in ends]
        upper = [f"{across(year):.1f},{down(band.high):.1f}" for year, band in zip(ends, bands, strict=True)]
        lower = [f"{across(year):.1f},{down(band.low):.1f}" for year, band in zip(ends, bands, strict=True)]
        parts.append(f"<polygon points='{' '.join([*upper, *reversed(lower)])}' fill='{_BAND}'/>")
        begin, end = (down(trend.line.at(year)) for year in (ends[0], ends[-1]))
        parts.append(_line(across(ends[0]), begin, across(ends[-1]), end, _INK, 2))
    for one, interval in zip(quarters, known, strict=True):
        x = across(one.year)
        parts.append(_line(x, down(interval.low), x, down(interval.high), _GREY, 1.4))
        radius = 2.5 + 4.5 * sqrt(one.wanted / largest)
        y = down(one.lacking / one.wanted)
        parts.append(f"<circle cx='{x:.1f}' cy='{y:.1f}' r='{radius:.1f}' fill='{_ACT}'/>")
    for year in range(ceil(first), int(last) + 1):
        parts.append(_line(across(year), top, across(year), height - bottom, "#b8b8b0", 1))
        parts.append(_text(across(year), height - bottom + 18, str(year), "middle"))
    return "".join(parts) + "</svg>"


def times_plot(times: Sequence[StageTimes]) -> str:
    """Draw the distribution of each stage's minutes, a row each: columns, middle half boxed, median."""
    if not times:
        return ""
    width, row, left, right = 640.0, 96.0, 110.0, 16.0
    most = max(5.0, max(one.quantile(0.99) for one in times) * 1.05)
    bins = 48
    height = row * len(times) + 34

    def across(minutes: float) -> float:
        return left + min(1.0, minutes / most) * (width - left - right)

    parts = [_head(width, height, "Minutes that the stages take")]
    for n, one in enumerate(times):
        ground = row * (n + 1) - 22
        counts = [0] * bins
        for minute, count in one.minutes.items():
            counts[min(bins - 1, int(minute / most * bins))] += count
        tallest = max(counts)
        for bin_, count in enumerate(counts):
            tall = (row - 34) * count / tallest
            if count:
                x = across(most * bin_ / bins)
                wide = (width - left - right) / bins - 1
                parts.append(_box(x, ground - tall, wide, tall, "#9fb3c8"))
        low, middle, high = (across(one.quantile(share)) for share in (0.25, 0.5, 0.75))
        parts.append(_box(low, ground + 3, max(1.0, high - low), 8, "#fff", _INK))
        parts.append(_line(middle, ground - row + 30, middle, ground + 13, _INK, 2))
        parts.append(_text(left - 8, ground - 14, one.stage.replace("_", " "), "end"))
        parts.append(_text(left - 8, ground + 4, f"{one.records}", "end"))
    step = next(one for one in (1, 2, 5, 10, 20, 30, 60, 120, 240, 1000) if most / one <= 10)
    for minutes in range(0, int(most) + 1, step):
        parts.append(_text(across(minutes), height - 8, str(minutes) if minutes else "0 min", "middle"))
    return "".join(parts) + "</svg>"


def quarterly(months: Sequence[Month]) -> list[Month]:
    """Return quarters of a year, named by their middle month; months of few cases leap wildly."""
    found: dict[str, Month] = {}
    for one in sorted((one for one in months if one.month and one.wanted), key=lambda one: one.month):
        middle = (int(one.month[5:7]) - 1) // 3 * 3 + 2
        name = f"{one.month[:4]}-{middle:02d}"
        before = found.get(name, Month(name, 0, 0))
        found[name] = Month(name, before.wanted + one.wanted, before.lacking + one.lacking)
    return list(found.values())


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %"


def _head(width: float, height: float, name: str) -> str:
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:g} {height:g}' width='{width:g}' "
        f"height='{height:g}' role='img' aria-label='{escape(name, quote=True)}'>"
    )


def _box(x: float, y: float, width: float, height: float, fill: str, ink: str = "none") -> str:
    size = f"width='{width:.1f}' height='{height:.1f}'"
    return f"<rect x='{x:.1f}' y='{y:.1f}' {size} fill='{fill}' stroke='{ink}'/>"


def _line(x0: float, y0: float, x1: float, y1: float, ink: str, width: float) -> str:
    ends = f"x1='{x0:.1f}' y1='{y0:.1f}' x2='{x1:.1f}' y2='{y1:.1f}'"
    return f"<line {ends} stroke='{ink}' stroke-width='{width:g}'/>"


def _text(x: float, y: float, text: str, anchor: str) -> str:
    place = f"x='{x:.1f}' y='{y:.1f}' text-anchor='{anchor}'"
    return f"<text {place} font-size='13' fill='{_GREY}'>{escape(text)}</text>"
