"""Small painted pictures of seal faces with marks, for the tests of the mark finders.

No renderer: grey levels by hand, in the plane of the face, under a tilt, with lay, noise and JPEG.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from functools import lru_cache

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane, plane_of_ellipse
from shared.photo import Ellipse

#: Painted so many times as fine as the picture.
_TWICE = 2


@dataclass
class PaintedFace:
    """A face to paint; lengths in outer radii, angles in degrees counter-clockwise from three o'clock."""

    size: tuple[int, int] = (500, 470)
    major: float = 440.0
    tilt: float = 0.95
    bore: float = 0.68
    level: float = 110.0
    track: tuple[float, float] | None = (0.78, 0.9)
    track_gain: float = 1.12
    track_offset: float = 0.0
    noise: float = 2.0
    lay: float = 1.5
    light: float = 0.25
    jpeg: int = 92
    seed: int = 1
    tint: tuple[float, float, float] = (1.02, 1.0, 0.97)
    strokes: list[tuple[NDArray[np.float64], float, float]] = field(default_factory=list)
    spots: list[tuple[float, float, float, float, tuple[float, float, float]]] = field(default_factory=list)
    notches: list[tuple[float, float, float, bool]] = field(default_factory=list)

    def plane(self) -> FacePlane:
        return _plane(self.size, self.major, self.tilt, self.bore)

    def stroke(
        self, start: tuple[float, float], end: tuple[float, float], px: float, gain: float, jagged: float = 0
    ) -> None:
        """Draw a line between two (radius, degrees), straight in the picture; wide in pixels."""
        steps = np.linspace(0, 1, 40)
        ends = [
            np.array([r * math.cos(math.radians(a)), r * math.sin(math.radians(a))]) for r, a in (start, end)
        ]
        line = ends[0] + steps[:, None] * (ends[1] - ends[0])
        if jagged:
            turn = np.random.default_rng(self.seed + len(self.strokes))
            line[1:-1] += (
                np.cumsum(turn.normal(0, jagged, (38, 2)), axis=0) * np.sin(np.pi * steps[1:-1])[:, None]
            )
        self.strokes.append((line, px, gain))

    def groove(self, radius: float, start: float, end: float, px: float, gain: float) -> None:
        """Draw an arc about the centre."""
        angle = np.radians(np.linspace(start, end, max(8, int(abs(end - start) * 2))))
        self.strokes.append((radius * np.column_stack([np.cos(angle), np.sin(angle)]), px, gain))

    def spot(
        self,
        radius: float,
        degrees: float,
        size: float,
        gain: float,
        tint: tuple[float, float, float] = (1, 1, 1),
    ) -> None:
        """Draw a soft round patch; size = its radius in outer radii."""
        self.spots.append((radius, degrees, size, gain, tint))

    def notch(self, degrees: float, arc: float, depth: float, outer: bool = True) -> None:
        """Break the edge out; depth in outer radii."""
        self.notches.append((degrees, arc, depth, outer))

    def paint(self) -> NDArray[np.uint8]:
        """Return the picture, shape = (height, width, 3)."""
        width, height = self.size
        plane = self.plane()
        spread, radius, angle = _places(self.size, plane)
        lay, noise = _chance(self.seed, self.size)
        outer, inner = np.ones_like(radius), np.full_like(radius, self.bore)
        for degrees, arc, depth, is_outer in self.notches:
            off = (angle - degrees + 180) % 360 - 180
            bite = depth * np.sqrt(np.clip(1 - (2 * off / arc) ** 2, 0, 1))
            if is_outer:
                outer -= bite
            else:
                inner += bite
        face = (radius <= outer) & (radius >= inner)
        grey = np.where(face, self.level, np.where(radius > outer, 0.45 * self.level, 0.2 * self.level))
        broken = ~face & (radius <= 1) & (radius >= self.bore)
        grey[broken] = 0.6 * self.level
        if self.track:
            about = np.hypot(spread[..., 0] - self.track_offset, spread[..., 1])
            worn = face & (about > self.track[0]) & (about < self.track[1])
            grey[worn] *= self.track_gain
        grey += np.where(face, self.lay * lay, 0)
        grey *= 1 + self.light * np.cos(np.radians(angle - 40)) * np.clip(radius, 0, 1)
        colour = grey[..., None] * np.array(self.tint)
        for line, px, gain in self.strokes:
            mask = np.zeros(radius.shape, np.uint8)
            points = np.round((plane.pixels(line) + 0.25) * _TWICE * 16).astype(np.int32)
            cv2.polylines(
                mask, [points.reshape(-1, 1, 2)], False, 255, max(1, round(px * _TWICE)), cv2.LINE_AA, 4
            )
            touched = np.nonzero(mask)
            colour[touched] *= (1 + (gain - 1) * mask[touched] / 255 * face[touched])[:, None]
        for r, degrees, size, gain, tint in self.spots:
            centre = r * np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
            far = np.hypot(spread[..., 0] - centre[0], spread[..., 1] - centre[1])
            soft = 1 / (1 + np.exp(np.clip((far - size) / (0.08 * size), -50, 50))) * face
            colour *= 1 + soft[..., None] * (gain * np.array(tint) - 1)
        picture = cv2.resize(colour, (width, height), interpolation=cv2.INTER_AREA)
        picture = cv2.GaussianBlur(picture, (0, 0), 0.6) + self.noise * noise
        _, coded = cv2.imencode(
            ".jpg", np.clip(picture, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, self.jpeg]
        )
        return np.asarray(cv2.imdecode(coded, cv2.IMREAD_COLOR), np.uint8)


@lru_cache
def _plane(size: tuple[int, int], major: float, tilt: float, bore: float) -> FacePlane:
    width, height = size
    ellipse = Ellipse(
        centre_px=(width / 2 + 3.3, height / 2 - 2.7), major_px=major, minor_px=major * tilt, angle_deg=25.0
    )
    return plane_of_ellipse(ellipse, bore)


@lru_cache(4)  # the same plane is the same object
def _places(
    size: tuple[int, int], plane: FacePlane
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Return where each painted pixel lies on the face: its point (shape = (…, 2)), radius and angle."""
    x, y = np.meshgrid(np.arange(size[0] * _TWICE), np.arange(size[1] * _TWICE))
    at = np.column_stack([x.ravel(), y.ravel()]) / _TWICE - 0.25
    spread = plane.points(at.astype(np.float64)).reshape(*x.shape, 2)
    angle = np.degrees(np.arctan2(spread[..., 1], spread[..., 0])) % 360
    return spread, np.hypot(spread[..., 0], spread[..., 1]), angle


@lru_cache(4)
def _chance(seed: int, size: tuple[int, int]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return a seed's lay, as fine as it is painted, and its noise in the picture; each spread by 1."""
    random, (width, height) = np.random.default_rng(seed), size
    lay = cv2.GaussianBlur(random.normal(0, 1, (height * _TWICE, width * _TWICE)), (0, 0), 1.2)
    return lay / lay.std(), random.normal(0, 1, (height, width, 3))
