"""Both faces of a pair unrolled one above the other, turned to match, with what became of each mark."""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.lighting import LitStrip
from capture.face.mark import Mark
from capture.face.mark_fates import Fate, MarkFate
from capture.face.pairs import FacePair, SeenFace
from capture.face.pen import (
    BADGE_PX,
    DAMAGE,
    DEPOSIT,
    EDGE,
    INK,
    PAPER,
    TRACK,
    Colour,
    badge,
    line,
    text_size,
    write,
)  # fmt: skip
from capture.picture_quality import Picture
from shared.sheet_entries import words_of

_LEFT_PX, _ROUND_PX, _RIGHT_PX = 130, 1800, 40
_HIGH_PX, _GAP_PX, _SCALE_PX, _LINE_PX = 190, 54, 60, 44
_SIZE = 0.75
_TICK_DEG = 30
#: A word stands beside each, so that no meaning hangs on colour alone.
_COLOURS: dict[Fate, Colour] = {"stayed": TRACK, "gone": DEPOSIT, "new": DAMAGE, "hidden": EDGE}


def pair_picture(before: SeenFace, after: SeenFace, pair: FacePair) -> Picture | None:
    """Return both faces one above the other, in angles of the first picture; outer edge up.

    Returns:
        shape = (height, 1970, 3), uint8, blue, green, red; None where they could not be compared.
    """
    if pair.turn is None or pair.obstacle or before.strip is None or after.strip is None:
        return None
    above = _unrolled(before.strip, 0.0)
    below = _unrolled(after.strip, pair.turn.degrees)
    for fate in pair.fates:
        for strip, lit, mark, turn in (
            (above, before.strip, fate.before, 0.0),
            (below, after.strip, fate.after, pair.turn.degrees),
        ):
            if mark is not None:
                _box(strip, lit, mark, turn, _COLOURS[fate.fate])
    page = _page(len(pair.fates))
    lower = _GAP_PX + _HIGH_PX + _SCALE_PX
    for top, strip, name in ((_GAP_PX, above, "before"), (lower, below, "after")):
        page[top : top + _HIGH_PX, _LEFT_PX : _LEFT_PX + _ROUND_PX] = strip
        write(page, name, (12, top + _HIGH_PX // 2), _SIZE)
    _scale(page, _GAP_PX + _HIGH_PX)
    for number, fate in enumerate(pair.fates, 1):
        x = _LEFT_PX + round(fate.angle_deg * _ROUND_PX / 360)
        badge(page, number, (x, _GAP_PX // 2), _COLOURS[fate.fate], square=fate.mark.kind == "deposit")
        _listed(page, number, fate, lower + _HIGH_PX + number * _LINE_PX)
    return page


def _page(fates: int) -> NDArray[np.uint8]:
    high = _GAP_PX + 2 * _HIGH_PX + _SCALE_PX + (fates + 1) * _LINE_PX
    return np.full((high, _LEFT_PX + _ROUND_PX + _RIGHT_PX, 3), PAPER, np.uint8)


def _unrolled(lit: LitStrip, turn_deg: float) -> NDArray[np.uint8]:
    strip = lit.strip.picture[::-1]
    turned = np.roll(strip, -round(turn_deg * strip.shape[1] / 360), axis=1)
    drawn = cv2.resize(turned, (_ROUND_PX, _HIGH_PX), interpolation=cv2.INTER_AREA)
    return np.asarray(drawn, np.uint8)


def _box(strip: NDArray[np.uint8], lit: LitStrip, mark: Mark, turn_deg: float, colour: Colour) -> None:
    first, last = float(lit.strip.radii[0]), float(lit.strip.radii[-1])
    low, high = (((last - radius) / (last - first)) * (_HIGH_PX - 1) for radius in (mark.r_in, mark.r_out))
    middle = (mark.angle_deg - turn_deg) % 360 * _ROUND_PX / 360
    half = mark.arc_deg / 2 * _ROUND_PX / 360 + 8
    # A mark across three o'clock stands at both ends.
    for x in (middle - _ROUND_PX, middle, middle + _ROUND_PX):
        corners = [[x - half, high - 6], [x + half, high - 6], [x + half, low + 6], [x - half, low + 6]]
        if x + half > 0 and x - half < _ROUND_PX:
            line(strip, np.array(corners), colour, width=3, closed=True)


def _scale(page: NDArray[np.uint8], top: int) -> None:
    for degrees in range(0, 361, _TICK_DEG):
        x = _LEFT_PX + degrees * _ROUND_PX // 360
        cv2.line(page, (x, top), (x, top + 12), INK, 3)
        text = f"{degrees}°"
        write(page, text, (x - text_size(text, _SIZE)[0] // 2, top + 42), _SIZE)


def _listed(page: NDArray[np.uint8], number: int, fate: MarkFate, bottom: int) -> None:
    middle = (_LEFT_PX - BADGE_PX // 2 - 8, bottom - 8)
    badge(page, number, middle, _COLOURS[fate.fate], square=fate.mark.kind == "deposit")
    said = f"{fate.fate}: {words_of(fate.mark.kind)} at {fate.angle_deg:.0f}°; {fate.says}"
    write(page, said, (_LEFT_PX + 10, bottom), _SIZE)
