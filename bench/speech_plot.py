"""Reliability: how often what was filed with a certain confidence was right, as a table and a drawing."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

_EDGES = (0.0, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0001)
_SIZE, _MARGIN = 320, 46

Pairs = Sequence[tuple[float, bool]]


def _bins(pairs: Pairs) -> list[tuple[float, float, list[tuple[float, bool]]]]:
    return [(low, high, [pair for pair in pairs if low <= pair[0] < high]) for low, high in pairwise(_EDGES)]


def reliability_table(pairs: Pairs) -> dict[str, str]:
    """Return by confidence how many readings there were and how many were right.

    Args:
        pairs: (confidence, right) of readings with a value.
    """
    return {
        f"{low:.2f} to {min(high, 1):.2f}": f"{sum(right for _, right in inside)} of {len(inside)} right"
        for low, high, inside in _bins(pairs)
    }


def reliability_plot(pairs: Pairs) -> str:
    """Return the same as a drawing (SVG): share right over mean confidence, area by how many."""
    whole = _SIZE + 2 * _MARGIN

    def x(share: float) -> float:
        return _MARGIN + share * _SIZE

    def y(share: float) -> float:
        return _MARGIN + (1 - share) * _SIZE

    marks = [
        f'<line x1="{x(0)}" y1="{y(0)}" x2="{x(1)}" y2="{y(1)}" stroke="#888" stroke-dasharray="4 4"/>',
        f'<rect x="{x(0)}" y="{y(1)}" width="{_SIZE}" height="{_SIZE}" fill="none" stroke="#222"/>',
    ]
    for tick in (0.0, 0.25, 0.5, 0.75, 1.0):
        marks.append(f'<text x="{x(tick)}" y="{y(0) + 16}" text-anchor="middle">{tick:g}</text>')
        marks.append(f'<text x="{x(0) - 6}" y="{y(tick) + 4}" text-anchor="end">{tick:g}</text>')
    for _, _, inside in _bins(pairs):
        if inside:
            sure = min(1.0, sum(c for c, _ in inside) / len(inside))
            right = sum(r for _, r in inside) / len(inside)
            radius = 2 + (len(inside) / max(1, len(pairs))) ** 0.5 * 18
            marks.append(
                f'<circle cx="{x(sure):.1f}" cy="{y(right):.1f}" r="{radius:.1f}" fill="#2566"'
                ' stroke="#036"/>'
            )
            marks.append(f'<text x="{x(sure):.1f}" y="{y(right) - radius - 3:.1f}">{len(inside)}</text>')
    marks.append(f'<text x="{whole / 2}" y="{whole - 8}" text-anchor="middle">confidence</text>')
    marks.append(f'<text x="{x(0)}" y="{y(1) - 12}">share right; numbers: how many readings</text>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {whole} {whole}" font-family="sans-serif" '
        f'font-size="12">{"".join(marks)}</svg>\n'
    )
