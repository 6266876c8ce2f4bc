"""The unrolled face as a reviewer reads it: degrees, edges, track and marks; what is hidden is hatched."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.drawing import mark_colour, track_runs
from capture.face.inspection import Inspection
from capture.face.lighting import LitStrip
from capture.face.mark import Mark
from capture.face.pen import BADGE_PX, EDGE, INK, PAPER, TRACK, Points, badge, line, text_size, write
from capture.picture_quality import Picture

#: Pixels of one half turn, and of the paper beside it.
_HALF_PX, _LEFT_PX, _RIGHT_PX = 1800, 170, 40
#: The face is drawn between so many pixels high.
_LEAST_HIGH, _MOST_HIGH = 150, 420
_SCALE_PX, _BADGES_PX = 66, 52
_TICK_DEG, _NAMED_DEG = 10, 30
_SIZE = 0.85


def strip_picture(inspection: Inspection) -> Picture | None:
    """Return the face unrolled in two halves, 0 to 180 degrees above 180 to 360; outer edge up.

    Returns:
        shape = (height, 2010, 3), uint8, blue, green, red; None for a picture that is not usable.
    """
    if inspection.strip is None:
        return None
    whole, rows_of = _whole(inspection.strip)
    _draw(whole, rows_of, inspection)
    return np.asarray(np.vstack([_half(whole, rows_of, first, inspection) for first in (0, 180)]), np.uint8)


class _Rows:
    """Where radii lie on the drawn strip."""

    def __init__(self, lit: LitStrip, high: int) -> None:
        self.bore = lit.strip.plane.bore
        self._first, self._last = float(lit.strip.radii[0]), float(lit.strip.radii[-1])
        self._high = high

    def at(self, radius: float | NDArray[np.float64]) -> NDArray[np.float64]:
        """Return the row of a radius in outer radii; the outermost is row 0."""
        share = (self._last - np.asarray(radius, np.float64)) / (self._last - self._first)
        return np.asarray(share * (self._high - 1), np.float64)


def _whole(lit: LitStrip) -> tuple[Picture, _Rows]:
    """Return the strip outer edge up, scaled, what is hidden hatched."""
    picture = lit.strip.picture[::-1]
    hidden = np.ascontiguousarray(lit.hidden[::-1]).astype(np.uint8)
    scale = 2 * _HALF_PX / picture.shape[1]
    high = int(np.clip(round(picture.shape[0] * scale), _LEAST_HIGH, _MOST_HIGH))
    size = (2 * _HALF_PX, high)
    drawn = cv2.resize(picture, size, interpolation=cv2.INTER_CUBIC if scale > 1 else cv2.INTER_AREA)
    mask = cv2.resize(hidden, size, interpolation=cv2.INTER_NEAREST).astype(bool)
    y, x = np.mgrid[0:high, 0 : size[0]]
    stripes = mask & ((x + y) % 24 < 6)
    drawn[stripes] = INK
    drawn[mask & ((x + y) % 24 >= 6) & ((x + y) % 24 < 9)] = PAPER
    return np.asarray(drawn, np.uint8), _Rows(lit, high)


def _draw(whole: Picture, rows: _Rows, inspection: Inspection) -> None:
    degrees = np.arange(0, 360.1, 1.0)
    for radius in (1.0, rows.bore):
        line(whole, _along(rows, degrees, np.full(len(degrees), radius)), EDGE, width=3)
    for along, edges in track_runs(inspection.track):
        for radii in edges:
            # A piece across three o'clock stands at both ends.
            for turn in (0.0, -360.0) if along[-1] > 360 else (0.0,):
                line(whole, _along(rows, along + turn, radii), TRACK, width=3, dashed=True)
    for mark in inspection.marks:
        _draw_mark(whole, rows, mark)


def _along(rows: _Rows, degrees: NDArray[np.float64], radii: NDArray[np.float64]) -> Points:
    return np.column_stack([degrees * (_HALF_PX / 180), rows.at(radii)])


def _draw_mark(whole: Picture, rows: _Rows, mark: Mark) -> None:
    half = mark.arc_deg / 2 * (_HALF_PX / 180) + 9
    top, bottom = float(rows.at(mark.r_out)) - 9, float(rows.at(mark.r_in)) + 9
    middle = mark.angle_deg % 360 * (_HALF_PX / 180)
    # A mark across three o'clock stands at both ends.
    for x in (middle, middle - 2 * _HALF_PX, middle + 2 * _HALF_PX):
        if x + half > 0 and x - half < 2 * _HALF_PX:
            box = np.array([[x - half, top], [x + half, top], [x + half, bottom], [x - half, bottom]])
            line(whole, box, mark_colour(mark.kind), width=3, closed=True)


def _half(whole: Picture, rows: _Rows, first_deg: int, inspection: Inspection) -> Picture:
    start = first_deg * _HALF_PX // 180
    face = whole[:, start : start + _HALF_PX]
    high = face.shape[0]
    page = np.full((high + _SCALE_PX + _BADGES_PX, _LEFT_PX + _HALF_PX + _RIGHT_PX, 3), PAPER, np.uint8)
    page[_BADGES_PX : _BADGES_PX + high, _LEFT_PX : _LEFT_PX + _HALF_PX] = face
    for name, radius in (("outer edge", 1.0), ("inner edge", rows.bore)):
        write(page, name, (12, _BADGES_PX + int(rows.at(radius)) + 8), 0.75)
    for degrees in range(first_deg, first_deg + 181, _TICK_DEG):
        _tick(page, _LEFT_PX + (degrees - first_deg) * _HALF_PX // 180, _BADGES_PX + high, degrees)
    for number, mark in enumerate(inspection.marks, 1):
        if first_deg <= mark.angle_deg % 360 < first_deg + 180:
            x = _LEFT_PX + round((mark.angle_deg % 360 - first_deg) * _HALF_PX / 180)
            badge(page, number, (x, BADGE_PX // 2 + 5), mark_colour(mark.kind), square=mark.kind == "deposit")
    return page


def _tick(page: Picture, x: int, top: int, degrees: int) -> None:
    named = degrees % _NAMED_DEG == 0
    cv2.line(page, (x, top), (x, top + (16 if named else 9)), INK, 3)
    if named:
        text = f"{degrees}°"
        write(page, text, (x - text_size(text, _SIZE)[0] // 2, top + 46), _SIZE)
