"""Pieces of the history's drawings: SVG that reads in black and white, with round numbers on its axes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from html import escape

INK, RED, GREY, BAND = "#1a1a1a", "#a3001b", "#5a5a5a", "#e3e6ea"
_FONT = "font-family='system-ui, Liberation Sans, sans-serif'"


@dataclass(frozen=True)
class Scale:
    """Maps a value to a pixel."""

    least: float
    most: float
    near: float
    """Pixel of ``least``."""
    far: float
    """Pixel of ``most``."""

    def at(self, value: float) -> float:
        """Return the pixel of a value."""
        return self.near + (value - self.least) / (self.most - self.least) * (self.far - self.near)


def scale_over(values: list[float], near: float, far: float, *, margin: float = 0.06) -> Scale:
    """Return a scale that holds values with a little room.

    Args:
        values: finite; at least one.
        near: pixel of the least.
        far: pixel of the most.
        margin: room on each side, as a share of the span.
    """
    least, most = min(values), max(values)
    room = (most - least) * margin or abs(most) * 0.1 or 1.0
    return Scale(least - room, most + room, near, far)


def round_marks(scale: Scale, about: int = 5) -> list[float]:
    """Return round numbers within a scale: about so many, 1, 2 or 5 times a power of ten apart."""
    span = scale.most - scale.least
    raw = span / max(1, about)
    power = 10.0 ** math.floor(math.log10(raw))
    step = next(power * one for one in (1, 2, 5, 10) if power * one >= raw)
    first = math.ceil(scale.least / step)
    return [n * step for n in range(first, math.floor(scale.most / step) + 1)]


def head(width: float, height: float, name: str) -> str:
    """Return the beginning of a drawing; ``name`` is what is read of it aloud."""
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 {width:g} {height:g}' class='plot' "
        f"role='img' aria-label='{escape(name, quote=True)}'>"
    )


def line(x0: float, y0: float, x1: float, y1: float, *, dashed: bool = False, thin: bool = False) -> str:
    """Draw a line; limits are whole, a trend is heavy, what is only for the eye is thin or dashed."""
    dash = " stroke-dasharray='5 4'" if dashed else ""
    colour, width = (GREY, 1.0) if thin or dashed else (INK, 2.0)
    return (
        f"<line x1='{x0:.1f}' y1='{y0:.1f}' x2='{x1:.1f}' y2='{y1:.1f}' stroke='{colour}' "
        f"stroke-width='{width:g}'{dash}/>"
    )


def path(points: list[tuple[float, float]], *, fill: str = "none", stroke: str = INK) -> str:
    """Draw a line through points, or an area with a fill."""
    d = "M" + " L".join(f"{x:.1f},{y:.1f}" for x, y in points)
    edge = f"stroke='{stroke}' stroke-width='2'" if fill == "none" else "stroke='none'"
    return f"<path d='{d}{'' if fill == 'none' else ' Z'}' fill='{fill}' {edge}/>"


def mark(x: float, y: float, verdict: str) -> str:
    """Draw a reading: disc within, cross outside, ring undecided or without a limit."""
    if verdict == "outside":
        d = f"M{x - 5:.1f},{y - 5:.1f} l10,10 M{x - 5:.1f},{y + 5:.1f} l10,-10"
        return f"<path d='{d}' stroke='{RED}' stroke-width='3' fill='none'/>"
    fill = INK if verdict == "within" else "#ffffff"
    return f"<circle cx='{x:.1f}' cy='{y:.1f}' r='4.5' fill='{fill}' stroke='{INK}' stroke-width='1.6'/>"


def words(x: float, y: float, text: str, *, anchor: str = "start", size: float = 13, fill: str = INK) -> str:
    """Write a text; what was said or typed is never markup."""
    return (
        f"<text x='{x:.1f}' y='{y:.1f}' {_FONT} font-size='{size:g}' text-anchor='{anchor}' fill='{fill}' "
        f"stroke='#ffffff' stroke-width='3' paint-order='stroke'>{escape(text)}</text>"
    )


def changed(number: float) -> str:
    """Return a change with its sign, two figures that count, and no power of ten."""
    return f"{Decimal(f'{number:.2g}'):+f}"


def plain(number: float) -> str:
    """Return a number of an axis, without a power of ten."""
    text = f"{number:.6f}".rstrip("0").rstrip(".")
    return "0" if text in ("", "-0") else text if abs(number) < 10_000 else f"{number:,.0f}".replace(",", " ")
