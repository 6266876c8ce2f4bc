"""Small drawings of readings against their tolerance band, as SVG that prints in black and white.

The band is grey between its limit lines; inside it the hatched margins are as wide as the expanded
uncertainty: a reading there proves neither conformity nor the opposite (guard band as in ISO 14253-1).
Marks differ in shape, never in colour alone: disc within, cross outside, ring undecided.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from html import escape
from itertools import pairwise

from shared.record import Verdict
from shared.sheet_entries import Fastener, Reading

_INK, _RED, _GREY, _BAND = "#1a1a1a", "#b00020", "#5a5a5a", "#e6e6e6"
#: A text under a mark further down would stand among the names of the positions, pixels.
_LOWEST = 134.0
_FONT = "font-family='Libertinus Serif, Georgia, serif'"


@dataclass(frozen=True)
class PlotPoint:
    """One position of a plot."""

    label: str
    """What stands under it."""
    value: Decimal | None
    """In the item's unit; None where none was given or it is unsure."""
    verdict: Verdict = "undecided"
    text: str = ""
    """What stands beside the mark: the value, or why there is none."""


@dataclass(frozen=True)
class _Scale:
    """Maps a value to a pixel: ``near + (value - least) / (most - least) * (far - near)``."""

    least: Decimal
    most: Decimal
    near: float
    far: float

    def at(self, value: Decimal) -> float:
        return self.near + float((value - self.least) / (self.most - self.least)) * (self.far - self.near)


def positions_plot(entry: Reading | Fastener, points: list[PlotPoint], name: str) -> str:
    """Draw readings position by position (left to right) against the tolerance band.

    Args:
        entry: the item, for its limits, nominal and uncertainty.
        points: at least one.
        name: unique in the document; becomes part of ids and the drawing's title.
    """
    width, height, left, right, top, bottom = 340.0, 190.0, 8.0, 58.0, 22.0, 42.0
    scale = _scale_for(entry, points, near=height - bottom, far=top)
    step = (width - left - right) / len(points)
    # Letters are about half as wide as high; names may touch the next one's, not run into it.
    letter = min(13.0, 1.9 * step / max(len(point.label) or 1 for point in points))
    parts = [_head(width, height, name), *_band_across(entry, scale, left, width - right, name)]
    drawn = [scale.at(point.value) if point.value is not None else None for point in points]
    parts += [
        _line(left + step * (n + 0.5), here, left + step * (n + 1.5), then, thin=True)
        for n, (here, then) in enumerate(pairwise(drawn))
        if here is not None and then is not None
    ]
    crossing = [scale.at(v) for v in (entry.upper, entry.nominal, entry.lower) if v is not None]
    for n, (point, y) in enumerate(zip(points, drawn, strict=True)):
        x = left + step * (n + 0.5)
        parts.append(_text(x, height - 23, point.label, anchor="middle", size=letter))
        if y is None:
            why = point.text or "?"
            small = min(12.0, 1.9 * step / len(why))
            parts.append(_text(x, height - 8, why, anchor="middle", size=small, fill=_GREY))
            continue
        parts.append(_mark(x, y, point.verdict))
        halo = _BAND if point.verdict != "outside" else "#ffffff"
        number = min(12.5, 1.9 * step / max(1, len(point.text)))
        below = _clear(drawn, n, crossing)
        parts.append(_text(x, below, point.text, anchor="middle", size=number, halo=halo))
    return "".join(parts) + "</svg>"


def _clear(drawn: list[float | None], n: int, crossing: list[float]) -> float:
    """Return the base line of a value's text: above its mark, or below where fewer lines run through it.

    Args:
        drawn: where the marks stand, pixels downwards; None where nothing is drawn.
        n: the mark whose text it is.
        crossing: where the lines of limits and nominal run, pixels downwards.
    """
    y = drawn[n]
    assert y is not None
    beside = [other for other in (*drawn[max(0, n - 1) : n], *drawn[n + 1 : n + 2]) if other is not None]
    above = sum(other < y - 4 for other in beside) + sum(y - 20 < line < y - 5 for line in crossing)
    below = sum(other > y + 4 for other in beside) + sum(y + 5 < line < y + 20 for line in crossing)
    return y + 18 if below < above and y < _LOWEST else y - 9


def strip_plot(entry: Reading | Fastener, point: PlotPoint, name: str) -> str:
    """Draw one reading on a horizontal strip against its tolerance band; arguments as above."""
    width, height = 150.0, 22.0
    scale = _scale_for(entry, [point], near=8, far=width - 8)
    low = scale.at(entry.lower) if entry.lower is not None else 0.0
    high = scale.at(entry.upper) if entry.upper is not None else width
    parts = [_head(width, height, name), _box(low, 5, high - low, 12, _BAND)]
    guard = _guard_px(entry, scale)
    if entry.lower is not None:
        parts += [_hatched(low, 5, min(guard, high - low), 12, name), _line(low, 2, low, 20)]
    if entry.upper is not None:
        parts += [
            _hatched(max(low, high - guard), 5, min(guard, high - low), 12, name),
            _line(high, 2, high, 20),
        ]
    if entry.nominal is not None:
        x = scale.at(entry.nominal)
        parts.append(_line(x, 5, x, 17, dashed=True))
    if point.value is not None:
        parts.append(_mark(scale.at(point.value), 11, point.verdict))
    return "".join(parts) + "</svg>"


def _scale_for(entry: Reading | Fastener, points: list[PlotPoint], *, near: float, far: float) -> _Scale:
    shown = [v for v in (entry.lower, entry.nominal, entry.upper) if v is not None]
    shown += [p.value for p in points if p.value is not None]
    # A one-sided limit is shown down (or up) to zero where values cannot be below it.
    if entry.lower is None and entry.plausible is not None and entry.plausible[0] == 0:
        shown.append(Decimal(0))
    least, most = min(shown, default=Decimal(0)), max(shown, default=Decimal(1))
    if least == most:
        least, most = least - abs(least) / 10 - Decimal("0.001"), most + abs(most) / 10 + Decimal("0.001")
    margin = (most - least) * Decimal("0.15")
    return _Scale(least - margin, most + margin, near, far)


def _guard_px(entry: Reading | Fastener, scale: _Scale) -> float:
    if entry.uncertainty is None:
        return 0.0
    return abs(scale.at(entry.uncertainty) - scale.at(Decimal(0)))


def _band_across(entry: Reading | Fastener, scale: _Scale, x0: float, x1: float, name: str) -> list[str]:
    """Draw the band of a plot whose values run upwards, with its limit lines and their numbers."""
    top = scale.at(entry.upper) if entry.upper is not None else scale.far
    bottom = scale.at(entry.lower) if entry.lower is not None else scale.near
    guard = min(_guard_px(entry, scale), bottom - top)
    parts = [_box(x0, top, x1 - x0, bottom - top, _BAND)]
    for limit, y, hatch_y in ((entry.upper, top, top), (entry.lower, bottom, bottom - guard)):
        if limit is not None:
            parts += [_hatched(x0, hatch_y, x1 - x0, guard, name), _line(x0, y, x1, y)]
            parts.append(_text(x1 + 5, y + 4, f"{limit}", size=12))
    if entry.nominal is not None:
        y = scale.at(entry.nominal)
        parts.append(_line(x0, y, x1, y, dashed=True))
        if all(abs(y - other) > 11 for other in (top, bottom)):
            parts.append(_text(x1 + 5, y + 4, f"{entry.nominal}", size=12, fill=_GREY))
    return parts


def _head(width: float, height: float, name: str) -> str:
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:g} {height:g}' width='{width:g}' "
        f"height='{height:g}' role='img' aria-label='{escape(name, quote=True)}'>"
        f"<defs><pattern id='hatch-{_slug(name)}' width='4' height='4' patternUnits='userSpaceOnUse' "
        f"patternTransform='rotate(45)'><path d='M0,0 V4' stroke='#8a8a8a' stroke-width='1'/>"
        "</pattern></defs>"
    )


def _box(x: float, y: float, width: float, height: float, fill: str) -> str:
    size = f"width='{max(0.0, width):.1f}' height='{max(0.0, height):.1f}'"
    return f"<rect x='{x:.1f}' y='{y:.1f}' {size} fill='{fill}'/>"


def _hatched(x: float, y: float, width: float, height: float, name: str) -> str:
    return _box(x, y, width, height, f"url(#hatch-{_slug(name)})") if width > 0.2 and height > 0.2 else ""


def _line(x0: float, y0: float, x1: float, y1: float, *, dashed: bool = False, thin: bool = False) -> str:
    style = f"stroke='{_GREY}'" if dashed or thin else f"stroke='{_INK}'"
    style += " stroke-dasharray='3 2'" if dashed else ""
    width = "0.8" if thin else "1"
    return f"<line x1='{x0:.1f}' y1='{y0:.1f}' x2='{x1:.1f}' y2='{y1:.1f}' {style} stroke-width='{width}'/>"


def _mark(x: float, y: float, verdict: Verdict) -> str:
    if verdict == "outside":
        cross = f"M{x - 5:.1f},{y - 5:.1f} l10,10 M{x - 5:.1f},{y + 5:.1f} l10,-10"
        return f"<path d='{cross}' stroke='{_RED}' stroke-width='2.6' fill='none'/>"
    if verdict == "undecided":
        return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4' fill='#ffffff' stroke='{_INK}' stroke-width='1.6'/>"
    return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='3.8' fill='{_INK}'/>"


def _text(
    x: float, y: float, text: str, *, anchor: str = "start", size: float, fill: str = _INK, halo: str = ""
) -> str:
    # The halo keeps a number readable where a line runs behind it.
    edge = f" stroke='{halo}' stroke-width='3' paint-order='stroke'" if halo else ""
    return (
        f"<text x='{x:.1f}' y='{y:.1f}' {_FONT} font-size='{size:g}' text-anchor='{anchor}' "
        f"fill='{fill}'{edge}>{escape(text)}</text>"
    )


def _slug(name: str) -> str:
    return "".join(c if c.isalnum() else "-" for c in name.lower())
