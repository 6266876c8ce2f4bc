"""Pictures of faces through an optical flat, drawn from their height h: light (1 + contrast cos 2 pi h)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import cv2
import numpy as np

from capture.face.plane import FacePlane

Height = Callable[[np.ndarray, np.ndarray], np.ndarray]
"""Bands (half waves) at x and y, outer radii of the face."""


@dataclass(frozen=True)
class Surface:
    """Tilt of the flat and form of the face; each but the tilt in bands of its own departure from flat."""

    bore: float = 0.75
    tilt: float = 6.0
    tilt_deg: float = 25.0
    dish: float = 0.0
    saddle: float = 0.0
    saddle_deg: float = 40.0
    lobes: float = 0.0
    """Three of them, highest less lowest."""

    def __call__(self, x: np.ndarray, y: np.ndarray) -> np.ndarray:
        turn, axis = np.radians(self.tilt_deg), np.radians(self.saddle_deg)
        r, angle = np.hypot(x, y), np.arctan2(y, x)
        tilt = self.tilt / 2 * (x * np.cos(turn) + y * np.sin(turn))
        dish = self.dish * r**2 / (1 - self.bore**2)
        saddle = self.saddle / 2 * r**2 * np.cos(2 * (angle - axis))
        return 0.3 + tilt + dish + saddle + self.lobes / 2 * r**3 * np.cos(3 * angle)


def out_of_flat(height: Height, bore: float) -> float:
    """Highest less lowest over the face above its least-squares plane: 240 x 900 places, by area."""
    r, angle = np.meshgrid(np.linspace(bore, 1, 240), np.linspace(0, 2 * np.pi, 900, endpoint=False))
    x, y, root = (r * np.cos(angle)).ravel(), (r * np.sin(angle)).ravel(), np.sqrt(r).ravel()
    plane = np.column_stack([np.ones_like(x), x, y])
    z = height(x, y)
    level = z - plane @ np.linalg.lstsq(plane * root[:, None], z * root, rcond=None)[0]
    return float(np.ptp(level))


@dataclass(frozen=True)
class Taken:
    """How a picture was taken."""

    radius_px: float = 220.0
    contrast: float = 0.5
    noise: float = 5.0
    quality: int = 85
    uneven: float = 0.35
    perspective: bool = False
    glare: float = 0.0
    """Angle in degrees of a sector that glare hides."""
    seed: int = 1


def taken(height: Height, bore: float, how: Taken = Taken()) -> tuple[np.ndarray, FacePlane]:
    """Return the picture, uint8, BGR, and where the face lies in it."""
    side = int(2 * how.radius_px + 80)
    to_px = np.array([[how.radius_px, 0, side / 2], [0, -how.radius_px, side / 2], [0, 0, 1.0]])
    if how.perspective:
        to_px = to_px @ np.array([[1, 0.05, 0], [0, 0.85, 0], [0.03, 0.05, 1.0]])
    plane = FacePlane(to_px, bore)
    columns, rows = np.meshgrid(np.arange(side), np.arange(side))
    at = plane.points(np.column_stack([columns.ravel(), rows.ravel()]).astype(float))
    x, y = at[:, 0].reshape(side, side), at[:, 1].reshape(side, side)
    r = np.hypot(x, y)
    light = 105 * (1 + how.uneven * x + how.uneven / 2 * y - how.uneven / 3 * r**2)
    lit = light * (1 + how.contrast * np.cos(2 * np.pi * height(x, y)))
    lit = np.where((r <= 1) & (r >= bore), lit, np.where(r < 1, 25.0, 60.0))
    lit = cv2.GaussianBlur(lit, (0, 0), 0.8)
    # Yellow: hardly any blue. Every colour has noise of its own.
    colours = lit[:, :, None] * np.array([0.15, 0.75, 1.0])
    colours[np.abs(np.degrees(np.arctan2(y, x))) < how.glare / 2] = 255.0
    grainy = colours + np.random.default_rng(how.seed).normal(0, how.noise, colours.shape)
    packed = cv2.imencode(
        ".jpg", np.clip(grainy, 0, 255).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, how.quality]
    )[1]
    return cv2.imdecode(packed, cv2.IMREAD_COLOR), plane
