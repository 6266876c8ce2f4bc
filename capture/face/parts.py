"""Connected parts of a face that stray from it, and their shape."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.extremes import threshold
from capture.face.ground import Ground, Map, Mask
from capture.face.spots import spots_of
from capture.face.streaks import streaks_of

#: No threshold lies below and above so many standard deviations.
_STREAK_BOUNDS = (5.0, 14.0)
_SPOT_BOUNDS = (5.5, 14.0)
#: A part that passes the threshold of chance by less is left out, unless it is one of many of its like.
SURE = 1.0
_FAINT = 0.75
#: At most so many parts are cut out.
_MOST = 70
#: Share of the threshold down to which a part that has passed it goes on.
_GROW = 0.55
#: Standard deviations of the smoothed stray that a pixel of a part must have to count in its shape.
_CORE = 2.2
#: A smoothed pixel of white noise in standard deviations of one that is not, turned over.
_SMOOTHED = 1.6
#: Share of a part's own strength that still is the part.
_SHAPE = 0.3
#: Pieces of a part are heat checks from so many on; of at least so many pixels, so slender, so nearly radial.
_FEW, _LEAST_PIECE, _LINE, _ACROSS_DEG = 3, 5, 2.0, 40.0
#: A part beside one of the other shade that stands out so many times as much is that one's fringe.
_FRINGE, _FRINGE_PX = 4.0, 16
#: A part of so many times fewer pixels, so near to one of its own shade or stronger, is a piece of that.
_CRUMB, _CRUMB_PX = 6.0, 8
#: Within so many pixels of what is hidden, with more than such a share of its pixels, a part is its end.
_CLING_PX, _CLING_SHARE = 5, 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """One connected part; lengths in outer radii unless said otherwise."""

    rows: NDArray[np.intp]
    columns: NDArray[np.intp]
    """Its pixels of the unrolled face, both of shape = (n,); columns may reach beyond the last one."""
    strength: float
    """Its largest response as a multiple of the threshold."""
    angle_deg: float
    arc_deg: float
    r_in: float
    r_out: float
    length: float
    width: float
    """Area by length."""
    direction_deg: float
    """Between its long axis and the radius: 0 = across the face, 90 = along it."""
    bend: float
    """How far its middle line strays from straight (root mean square), in its length."""
    light: float
    """Share of what strays that is lighter than the face, 0 to 1."""
    contrast: float
    """Mean stray of its pixels, logarithm of brightness."""

    @property
    def slender(self) -> float:
        """Length by width."""
        return self.length / max(self.width, 1e-9)


def parts_of(ground: Ground, signal: Map) -> list[Part]:
    """Return the parts that stray from the face, down to what chance may have made (strength below SURE).

    Args:
        ground: the face.
        signal: its stray in standard deviations, shape = (face rows, columns).
    """
    streaks = streaks_of(signal)
    spots = spots_of(signal)
    streak = np.maximum(streaks.light, streaks.dark)
    evidence = np.maximum(
        streak / threshold(streak, *_STREAK_BOUNDS), spots / threshold(spots, *_SPOT_BOUNDS)
    )
    evidence[ground.hidden] = 0
    pixel = float(ground.radii[1] - ground.radii[0])
    # Pixels strewn along a line, less than one to a pixel of its length, are grain.
    whole = [part for part in _cut_out(ground, signal, evidence) if part.width >= pixel]
    return _without_fringes([part for part in whole if not _by_the_hidden(part, ground)])


def _by_the_hidden(part: Part, ground: Ground) -> bool:
    """Tell whether a part clings to glare or shadow: their ends are no marks."""
    if not ground.hidden.any():
        return False
    columns = ground.hidden.shape[1]
    near = np.zeros(len(part.rows), np.bool_)
    for away in (-_CLING_PX, 0, _CLING_PX):
        rows = np.clip(part.rows + away, 0, len(ground.hidden) - 1)
        near |= ground.hidden[rows, part.columns % columns]
        near |= ground.hidden[part.rows, (part.columns + away) % columns]
    return float(near.mean()) > _CLING_SHARE


def _without_fringes(parts: list[Part]) -> list[Part]:
    """Leave out what sharpening, JPEG and the filters themselves draw beside a strong mark."""
    return [part for part in parts if not any(_fringes(other, part) for other in parts)]


def _fringes(strong: Part, part: Part) -> bool:
    if strong is part:
        return False
    if abs(strong.contrast) < _FRINGE * abs(part.contrast):
        # A crumb beside a mark of much the same shade is a piece of it.
        if len(strong.rows) < _CRUMB * len(part.rows) or abs(strong.contrast) < 0.8 * abs(part.contrast):
            return False
        reach = _CRUMB_PX
    else:
        reach = _FRINGE_PX
    if part.columns.min() > strong.columns.max() + reach:
        return False
    if part.columns.max() < strong.columns.min() - reach:
        return False
    down = np.abs(part.rows[::3, None] - strong.rows[None, ::3])
    along = np.abs(part.columns[::3, None] - strong.columns[None, ::3])
    gaps = np.maximum(down, along)
    return float(np.mean(gaps.min(axis=1) <= reach)) > 0.7


def _cut_out(ground: Ground, signal: Map, evidence: Map) -> list[Part]:
    # The ring is cut open where least is to be seen, so that no part lies across the cut.
    turn = int(np.argmin(evidence.max(axis=0)))
    evidence = np.roll(evidence, -turn, axis=1)
    smooth = np.roll(np.abs(cv2.GaussianBlur(signal, (3, 3), 0)) * _SMOOTHED, -turn, axis=1)
    grown = ((evidence > _GROW) & (smooth > _CORE)) | (evidence > _FAINT)
    _, labels, stats, _ = cv2.connectedComponentsWithStats(grown.astype(np.uint8), connectivity=8)
    boxes = [_box(stats[label]) for label in range(1, len(stats))]
    strengths = [float(evidence[box][labels[box] == n].max()) for n, box in enumerate(boxes, 1)]
    # On a face full of glitter there are hundreds: the strongest are enough.
    strongest = sorted(range(len(boxes)), key=lambda n: -strengths[n])[:_MOST]
    parts: list[Part] = []
    for n in sorted(n for n in strongest if strengths[n] > _FAINT):
        box = boxes[n]
        inside: Mask = labels[box] == n + 1
        # Blur spreads a strong mark: its shape is where it is a good share of its own strength.
        level = max(_CORE, _SHAPE * float(np.quantile(smooth[box][inside], 0.97)))
        core = inside & (smooth[box] > level)
        here = np.where(core if core.sum() >= 3 else inside, evidence[box], 0)
        parts += _split(ground, signal, here, box[0].start, box[1].start + turn)
    return parts


def _box(stats: NDArray[np.int32]) -> tuple[slice, slice]:
    left, top, width, height = (int(v) for v in stats[:4])
    return slice(top, top + height), slice(left, left + width)


def _split(ground: Ground, signal: Map, evidence: Map, top: int, left: int) -> list[Part]:
    """Return one part, or its pieces where these are lines side by side, as heat checks are."""
    count, labels = cv2.connectedComponents((evidence > 0).astype(np.uint8), connectivity=8)
    pieces: list[Part] = []
    for label in range(1, count) if count > _FEW else ():
        rows, columns = np.nonzero(labels == label)
        if len(rows) >= _LEAST_PIECE:
            strength = float(evidence[rows, columns].max())
            pieces.append(part_of(ground, signal, rows + top, columns + left, strength))
    lines = [piece for piece in pieces if piece.slender > _LINE and piece.direction_deg < _ACROSS_DEG]
    if len(lines) >= _FEW:
        return lines
    rows, columns = np.nonzero(evidence > 0)
    return [part_of(ground, signal, rows + top, columns + left, float(evidence.max()))]


def part_of(
    ground: Ground, signal: Map, rows: NDArray[np.intp], columns: NDArray[np.intp], strength: float
) -> Part:
    """Return the shape of some pixels; columns may reach beyond the last one, where the ring closes."""
    strip = ground.lit.strip
    step_deg = 360.0 / strip.columns
    radii = ground.radii[rows]
    closed = columns % strip.columns
    values = signal[rows, closed]
    weight = np.abs(values) + 0.1
    points = np.column_stack([np.radians((columns - columns.mean()) * step_deg) * radii, radii])
    points -= np.average(points, axis=0, weights=weight)
    _, axes = np.linalg.eigh((points * weight[:, None]).T @ points)
    along, across = points @ axes[:, 1], points @ axes[:, 0]
    pixel = float(ground.radii[1] - ground.radii[0])
    length = float(along.max() - along.min()) + pixel
    area = float((pixel * np.radians(step_deg) * radii).sum())
    first, last = int(columns.min()), int(columns.max())
    return Part(
        rows=rows, columns=columns, strength=strength,
        angle_deg=(first + last) / 2 * step_deg % 360, arc_deg=(last - first + 1) * step_deg,
        r_in=float(radii.min()) - pixel / 2, r_out=float(radii.max()) + pixel / 2,
        length=length, width=area / length,
        direction_deg=math.degrees(math.atan2(abs(axes[0, 1]), abs(axes[1, 1]))),
        bend=_bend(along, across, weight, pixel) / length,
        light=float(np.maximum(values, 0).sum() / max(float(np.abs(values).sum()), 1e-9)),
        contrast=float((values * ground.spread[rows, closed]).mean()),
    )  # fmt: skip


def _bend(
    along: NDArray[np.float64], across: NDArray[np.float64], weight: NDArray[np.float64], pixel: float
) -> float:
    """Return how far the middle line strays from straight, root mean square, in outer radii."""
    place = np.round((along - along.min()) / pixel).astype(np.intp)
    total = np.bincount(place, weights=weight)
    middle = np.bincount(place, weights=weight * across)[total > 0] / total[total > 0]
    if len(middle) < 4:
        return 0.0
    at = np.arange(len(middle))
    return float(np.std(middle - np.polyval(np.polyfit(at, middle, 1), at)))
