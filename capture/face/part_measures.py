"""What a part that strays from the face is measured by, before it is weighed: plain numbers."""

from __future__ import annotations

import math

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.blemishes import patch_of
from capture.face.chips import depth, foot_share, rim_distance
from capture.face.ground import MAD, Ground, Map
from capture.face.parts import Part
from capture.face.track import Track
from capture.face.track_traces import is_track_end

Measures = dict[str, float]
Mask = NDArray[np.bool_]

#: How far round a part the face is looked at, pixels; what is nearer than the second belongs to its blur.
_AROUND, _BLUR = 9, 2
#: An edge found beside the true one makes parts no deeper than this, outer radii.
_EDGE_ERROR = 0.0125
#: At the edge is what comes within so many pixels of it, fading out.
_AT_EDGE_PX = 3.0
#: Rivals are parts of at least this share of the part's own strength.
_RIVAL = 0.6
#: Neighbours are parts within so many degrees, of at least this share of the part's own strength.
_NEAR_DEG, _LIKE = 25.0, 0.5
#: Quantile of the strays that is their tail; how far beside a part, degrees.
_TAIL, _TAIL_DEG = 0.985, 10.0
#: How far beyond the edge of the face its surroundings are looked at, rows.
_BEYOND = (3, 7)
#: Darker than this against the face, logarithm, is on its way to black.
_DARK = 0.7
#: More strength than this, and a lead (logarithm) over the others beyond this, tell no more.
_MOST_STRENGTH, _MOST_LEAD = 7.0, 1.5
_TINY = 1e-3


def measures_of(part: Part, others: list[Part], ground: Ground, signal: Map, track: Track | None) -> Measures:
    """Measure one part of a face among all its parts."""
    pixel = ground.pixel
    around, patch = _Around(part, ground), patch_of(part, ground)
    inside, beside = around.level
    noise = around.noise
    contrast = inside - beside
    black = max(0.0, min(-contrast - _DARK, 2.0))
    edge = max(0.0, 1.0 - max(0.0, rim_distance(part, ground) / pixel - _AT_EDGE_PX) / _AT_EDGE_PX)
    along = math.sin(math.radians(part.direction_deg)) ** 2
    line = min(max(part.slender - 1.5, 0.0), 3.0) / 3.0
    arc = math.radians(part.arc_deg) * part.r_in
    deep = depth(part, ground)
    stronger = [other.strength for other in others if other is not part]
    near = [other for other in others if other is not part and _apart(other, part) < _NEAR_DEG]
    closed = part.columns % signal.shape[1]
    spread = float(np.median(ground.spread[part.rows, closed]))
    values = np.abs(signal[part.rows, closed])
    return {
        "strength": math.log(max(0.1, min(part.strength, _MOST_STRENGTH))),
        "contrast": math.log(abs(contrast) + 0.02),
        "clear": math.log(abs(contrast) / noise + 0.1),
        "signal": math.log(float(values.mean()) + 0.1),
        "length": math.log(part.length / pixel),
        "width": math.log(part.width / pixel),
        "slender": math.log(max(part.slender, 1.0)),
        "length_share": min(part.length / (1 - ground.bore), 2.0),
        "bend": min(part.bend, 0.3) * 10,
        "line": line,
        "line_across": line * (1 - along),
        "line_along": line * along,
        "dark": 1.0 - part.light,
        "one_shade": abs(2 * part.light - 1),
        "edge": edge,
        "edge_depth": edge * math.log(max(deep / pixel, 0.5)),
        "edge_steep": edge * min(deep / max(arc, pixel), 2.0),
        "edge_foot": edge * foot_share(part, ground),
        "edge_shallow": edge * float(deep < _EDGE_ERROR),
        "edge_clear": edge * math.log(abs(contrast) / noise + 0.1),
        "edge_line_across": edge * line * (1 - along),
        "restless": math.log(spread / max(float(np.median(ground.spread[::3, ::7])), 1e-6)),
        "rivals": math.log1p(sum(strength > _RIVAL * part.strength for strength in stronger)),
        "lead": max(-_MOST_LEAD, min(math.log(part.strength / max([*stronger, 0.5])), _MOST_LEAD)),
        "neighbours": math.log1p(sum(other.strength > _LIKE * part.strength for other in near)),
        "tail_near": _tail_near(part, signal),
        "bite": edge * around.bite,
        "shade": max(-2.0, min(contrast, 1.0)),
        "black": black,
        # The colour of what is black is mostly noise.
        "colour": min(patch.colour, 0.6) * math.exp(-3 * black),
        "step": around.step,
        "slope": min(patch.slope, 1.0),
        "by_hidden": around.hidden,
        "track_end": float(is_track_end(part, track, ground)),
    }  # fmt: skip


def _apart(one: Part, other: Part) -> float:
    return abs((one.angle_deg - other.angle_deg + 180) % 360 - 180)


def _tail_near(part: Part, signal: Map) -> float:
    """Return how large the largest strays beside a part are, logarithm: where it glitters they are large."""
    columns = signal.shape[1]
    reach = round(_TAIL_DEG / 360 * columns)
    first, last = int(part.columns.min()) - 4, int(part.columns.max()) + 5
    take = np.concatenate([np.arange(first - reach, first), np.arange(last, last + reach)]) % columns
    return math.log(float(np.quantile(np.abs(signal[:, take]), _TAIL)) + 0.5)


class _Around:
    """A part and what lies beside it, in a cut of the face."""

    def __init__(self, part: Part, ground: Ground) -> None:
        columns = ground.hidden.shape[1]
        top = max(0, int(part.rows.min()) - _AROUND)
        bottom = min(len(ground.hidden), int(part.rows.max()) + _AROUND + 1)
        left, right = int(part.columns.min()) - _AROUND, int(part.columns.max()) + _AROUND + 1
        take = np.arange(left, right) % columns
        face = ground.lit.strip.face_rows
        self._flat = ground.lit.flat[face][top:bottom][:, take]
        self._stray = ground.stray[top:bottom][:, take]
        self._hidden = ground.hidden[top:bottom][:, take]
        inside = np.zeros(self._flat.shape, np.uint8)
        inside[part.rows - top, part.columns - left] = 1
        self._inside: Mask = inside > 0
        near = cv2.dilate(inside, np.ones((2 * _BLUR + 1, 2 * _BLUR + 1), np.uint8))
        wide = cv2.dilate(inside, np.ones((2 * _AROUND - 1, 2 * _AROUND - 1), np.uint8))
        self._beside: Mask = (wide > 0) & (near == 0) & ~self._hidden
        self._part, self._ground = part, ground

    @property
    def level(self) -> tuple[float, float]:
        """Median stray inside, and beside where the part ends across the circles."""
        own = float(np.median(self._stray[self._inside]))
        return own, float(np.median(self._stray[self._beside])) if self._beside.any() else 0.0

    @property
    def noise(self) -> float:
        """Robust spread of the stray beside."""
        if self._beside.sum() < 8:
            return 0.05
        beside = self._stray[self._beside]
        return max(MAD * float(np.median(np.abs(beside - np.median(beside)))), 0.01)

    @property
    def step(self) -> float:
        """How far both sides of the part differ, in its contrast: a line has 0, an edge 1 and more."""
        rows, columns = np.nonzero(self._inside)
        middle = np.array([rows.mean(), columns.mean()])
        points = np.column_stack([rows, columns]) - middle
        _, axes = np.linalg.eigh(points.T @ points + 1e-6 * np.eye(2))
        across = (np.argwhere(self._beside) - middle) @ axes[:, 0]
        values = self._flat[self._beside]
        if min((across > 0).sum(), (across < 0).sum()) < 4:
            return 0.0
        one, other = float(np.median(values[across > 0])), float(np.median(values[across < 0]))
        own = abs(float(np.median(self._flat[self._inside])) - (one + other) / 2)
        return min(abs(one - other) / max(own, _TINY), 3.0)

    @property
    def bite(self) -> float:
        """Where inside lies between the face beside (0) and what is beyond the nearer edge (1)."""
        part, ground = self._part, self._ground
        flat, face = ground.lit.flat, ground.lit.strip.face_rows
        outer = 1 - part.r_out < part.r_in - ground.bore
        rows = (
            slice(face.stop + _BEYOND[0], face.stop + _BEYOND[1])
            if outer
            else slice(max(face.start - _BEYOND[1], 0), max(face.start - _BEYOND[0], 0))
        )
        beyond = flat[rows][:, np.unique(part.columns) % flat.shape[1]]
        if not beyond.size or not self._beside.any():
            return 0.0
        level = float(np.median(self._flat[self._beside]))
        own, other = float(np.median(self._flat[self._inside])) - level, float(np.median(beyond)) - level
        return max(-1.0, min(own / other, 2.0)) if abs(other) > 0.05 else 0.0

    @property
    def hidden(self) -> float:
        """How much of the surroundings glare or shadow hides, 0 to 1: a fifth is all."""
        return min(5 * float(self._hidden.mean()), 1.0)
