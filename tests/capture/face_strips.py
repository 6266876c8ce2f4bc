"""Unrolled faces that the tests paint: a surface times a light, texture and camera noise on top."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from capture.face.plane import FacePlane
from capture.face.strip import MARGIN, Strip

#: Millimetres of an outer radius.
MM = 22.0
BORE = 0.77


@dataclass(frozen=True)
class Worn:
    """A track; radii in outer radii, contrast in natural logarithms of brightness."""

    inner: float = 0.84
    outer: float = 0.93
    contrast: float = -0.25
    offset: float = 0.0
    direction_deg: float = 0.0
    gap_deg: tuple[float, float] | None = None
    rougher: float = 1.0
    """How many times as strong the fine texture is on the track."""
    wider: float = 0.0
    """First harmonic of the width, as a share of the width."""


def paint(
    track: Worn | None = None,
    *,
    light: Callable[[np.ndarray, np.ndarray], np.ndarray] | None = None,
    seed: int = 1,
    columns: int = 1800,
    texture: float = 0.05,
    noise: float = 2.0,
    albedo: float = 0.25,
    gamma: float = 1.0,
    bore: float = BORE,
) -> Strip:
    """A strip; light(height -1 to 1 across the face, angle in radians) is a factor."""
    random = np.random.default_rng(seed)
    radius_px = columns / (2 * np.pi)
    rows = round((1 - bore) * (1 + 2 * MARGIN) * radius_px)
    width = 1 - bore
    radii = np.linspace(bore - MARGIN * width, 1 + MARGIN * width, rows)
    angle = np.arange(columns) * (2 * np.pi / columns)
    grid_r, grid_a = np.meshgrid(radii, angle, indexing="ij")
    worn = _worn(track, grid_r, grid_a) if track else np.zeros_like(grid_r)
    grain = texture * random.standard_normal(grid_r.shape)
    if track:
        grain *= 1 + (track.rougher - 1) * worn
    logs = np.log(albedo) + grain + (track.contrast * worn if track else 0)
    # Chamfers on both edges turn away from the light.
    logs = np.where((grid_r < bore) | (grid_r > 1), np.log(albedo) - 0.6 + grain, logs)
    linear = np.exp(logs)
    if light:
        height = np.clip((grid_r - (1 + bore) / 2) / (width / 2), -1.3, 1.3)
        linear = linear * light(height, grid_a)
    grey = 255 * np.clip(linear, 0, 1) ** (gamma / 2.2)
    picture = grey[:, :, None] + noise * random.standard_normal((*grey.shape, 3))
    plane = FacePlane(np.array([[radius_px, 0, 600], [0, -radius_px, 600], [0, 0, 1.0]]), bore)
    return Strip(np.clip(np.round(picture), 0, 255).astype(np.uint8), plane, radii)


def _worn(track: Worn, radius: np.ndarray, angle: np.ndarray) -> np.ndarray:
    around = np.cos(angle - np.radians(track.direction_deg))
    more = 0.5 * track.wider * (track.outer - track.inner) * around
    inner = track.inner + track.offset * around - more
    outer = track.outer + track.offset * around + more
    soft = 0.002
    worn = 1 / (1 + np.exp(-(radius - inner) / soft)) / (1 + np.exp((radius - outer) / soft))
    if track.gap_deg:
        first, last = track.gap_deg
        degrees = np.degrees(angle)
        worn = np.where((degrees > first) & (degrees < last), 0, worn)
    return worn
