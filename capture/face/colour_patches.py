"""Patches of another colour: deposits, told by the ratio of red to blue, which no lamp's brightness changes.

A broad deposit is as slow as light is, and light taken out takes a part of it along; its colour stays.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.chips import at_edge
from capture.face.ground import MAD, Ground, Map, along_rows
from capture.face.mark import Mark
from capture.face.parts import Part, part_of

#: Blocks round the ring and of the running median: what is narrower than 45 degrees stands out.
_BLOCKS, _WINDOW = 120, 31
#: Least shift of red to blue (logarithm), and in standard deviations, of a patch and of its fringe.
_SHIFT, _SURE, _GROW = 0.12, 6.0, 0.5
#: Blur before, pixels of half size: JPEG keeps colour at half size at best.
_BLUR = 1.2
#: Smallest patch, pixels of half size; rows at the edges whose colour is that of what lies beyond.
_LEAST_PX, _RIM_PX = 12, 3
#: A faint patch is one only from this size on, pixels of half size.
_FAINT, _FAINT_PX = 1.15, 150
#: A patch at an edge that is neither so clear nor of another brightness is a fringe.
_CLEAR, _LEAST_CONTRAST = 2.2, 0.06
#: A part within so many pixels of a patch of colour is a piece of it; a score, with so much of its arc.
_NEAR_PX, _SCORE_SHARE = 6, 0.6
#: Black is below this share of the face's usual grey level.
_BLACK_SHARE = 0.3
_LEVELS = np.log(np.arange(256) + 3.0).astype(np.float32)


def colour_patches(ground: Ground, signal: Map) -> list[Part]:
    """Return the patches whose colour is not the face's."""
    stray, sure = _stray(ground)
    shown = (stray > _GROW * sure).astype(np.uint8)
    # The ring is cut open where least is to be seen.
    turn = int(np.argmin(np.where(shown > 0, stray, 0).sum(axis=0)))
    shown, stray = np.roll(shown, -turn, axis=1), np.roll(stray, -turn, axis=1)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(shown, connectivity=8)
    parts: list[Part] = []
    for label in np.flatnonzero(stats[1:, cv2.CC_STAT_AREA] >= _LEAST_PX) + 1:
        left, top, width, height = (int(v) for v in stats[label, :4])
        box = (slice(top, top + height), slice(left, left + width))
        inside = labels[box] == label
        strength = float(np.quantile(stray[box][inside], 0.9)) / sure
        deep = top + height > _RIM_PX and top < len(stray) - _RIM_PX and height >= _RIM_PX
        enough = strength > (1.0 if inside.sum() >= _FAINT_PX else _FAINT)
        if enough and deep:
            part = _part(ground, signal, inside, (top, left + turn), strength)
            parts += [] if _fringe(part, ground) else [part]
    return parts


def _stray(ground: Ground) -> tuple[Map, float]:
    """Return the shift of colour at half size, and the least that is sure."""
    strip = ground.lit.strip
    face = strip.picture[strip.face_rows]
    logs = cv2.LUT(face, _LEVELS)
    brightest = face.max(axis=2)
    # What is black has no colour of its own: its ratio is noise, and differs from any tinted face's.
    black = brightest < _BLACK_SHARE * float(np.median(brightest[::3, ::7]))
    ratio = np.where(ground.hidden | black, np.float32(np.nan), logs[:, :, 2] - logs[:, :, 0])
    usual = np.nanmedian(ratio[::3, ::7])
    filled = np.nan_to_num(ratio, nan=float(usual)).astype(np.float32)
    rows, columns = filled.shape
    half = cv2.resize(filled, ((columns + 1) // 2, (rows + 1) // 2), interpolation=cv2.INTER_AREA)
    smooth = np.asarray(cv2.GaussianBlur(half, (0, 0), _BLUR), np.float32)
    stray = np.abs(smooth - along_rows(smooth, _BLOCKS, _WINDOW))
    spread = MAD * float(np.median(stray[:, ::3]))
    return stray, max(_SHIFT, _SURE * spread)


def _part(
    ground: Ground, signal: Map, inside: NDArray[np.bool_], corner: tuple[int, int], strength: float
) -> Part:
    whole = np.repeat(np.repeat(inside, 2, axis=0), 2, axis=1)
    rows, columns = np.nonzero(whole)
    rows = rows + 2 * corner[0]
    keep = rows < len(ground.radii)
    return part_of(ground, signal, rows[keep], columns[keep] + 2 * corner[1], strength)


def _fringe(part: Part, ground: Ground) -> bool:
    """Tell whether a patch is no more than the coloured fringe that lens and surroundings draw at an edge."""
    return at_edge(part, ground) and part.strength < _CLEAR and abs(part.contrast) < _LEAST_CONTRAST


def runs_through(score: Mark, patch: Part) -> bool:
    """Tell whether a score lies for the most part in a patch: its own streaks."""
    apart = abs((score.angle_deg - patch.angle_deg + 180) % 360 - 180)
    common = min((score.arc_deg + patch.arc_deg) / 2 - apart, score.arc_deg, patch.arc_deg)
    middle = (score.r_in + score.r_out) / 2
    return common > _SCORE_SHARE * score.arc_deg and patch.r_in <= middle <= patch.r_out


def belongs_to(part: Part, patch: Part, columns: int) -> bool:
    """Tell whether a part lies for the most part within the box about a patch."""
    middle = float(patch.columns.min() + patch.columns.max()) / 2
    half = (int(patch.columns.max()) - int(patch.columns.min())) / 2 + _NEAR_PX
    off = (part.columns - middle + columns / 2) % columns - columns / 2
    along = np.abs(off) <= half
    across = (part.rows >= patch.rows.min() - _NEAR_PX) & (part.rows <= patch.rows.max() + _NEAR_PX)
    return float(np.mean(along & across)) > 0.5
