"""Draws simple pictures of rings under a tilted camera, with the edges that are easily taken for the face."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane

Picture = NDArray[np.uint8]


@dataclass(frozen=True)
class Layer:
    """One disc, painted over what lies below it."""

    radius: float
    """Outer radii of the face."""
    level: float
    """Grey, 0 to 255."""
    height: float = 0.0
    """Towards the camera, outer radii."""
    offset: tuple[float, float] = (0.0, 0.0)
    gloss: float = 0.0
    """How much brighter one side is than the other."""
    opening: bool = False
    """Seen only through the openings before it: an edge that lies deeper."""


#: A seat in a steel shell with a boot: shell, boot, chamfer, face with a worn track, step, bore.
SEAT = (
    Layer(1.5, 55, -0.25), Layer(1.34, 140, -0.2, gloss=0.4), Layer(1.05, 95, -0.03),
    Layer(1.0, 150, gloss=0.15), Layer(0.92, 135, offset=(0.01, 0.0), gloss=0.15),
    Layer(0.84, 150, offset=(0.01, 0.0), gloss=0.15), Layer(0.75, 100, opening=True),
    Layer(0.66, 30, -0.12, opening=True),
)  # fmt: skip


@dataclass(frozen=True)
class View:
    """Where the camera stands and what the picture is like."""

    width: int = 640
    height: int = 480
    centre: tuple[float, float] = (320.0, 240.0)
    radius_px: float = 120.0
    tilt_deg: float = 0.0
    turn_deg: float = 40.0
    distance: float = 6.0
    """From the camera to the face, in outer radii."""
    noise: float = 3.0
    texture: float = 4.0
    seed: int = 1
    ground: float = 75.0
    extra: tuple[str, ...] = field(default=())

    def plane(self, height: float = 0.0, bore: float = 0.75) -> FacePlane:
        """The plane at a height over the face."""
        tilt, turn = math.radians(self.tilt_deg), math.radians(self.turn_deg)
        about_view = np.array(
            [[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1.0]]
        )
        lean = np.array(
            [[1, 0, 0], [0, math.cos(tilt), -math.sin(tilt)], [0, math.sin(tilt), math.cos(tilt)]]
        )
        turned = about_view @ lean @ about_view.T
        columns = np.column_stack([turned[:, 0], turned[:, 1], turned[:, 2] * height - [0, 0, self.distance]])
        focal = self.radius_px * self.distance
        camera = np.array([[focal, 0, -self.centre[0]], [0, -focal, -self.centre[1]], [0, 0, -1.0]])
        to_px = camera @ columns
        return FacePlane(to_px / to_px[2, 2], bore)


def drawn(view: View, layers: tuple[Layer, ...] = SEAT, under: Picture | None = None) -> Picture:
    """Draw the layers, lowest first, with light, texture, blur and noise."""
    chance = np.random.default_rng(view.seed)
    y, x = np.mgrid[0 : view.height, 0 : view.width].astype(np.float64)
    pixels = np.column_stack([x.ravel(), y.ravel()])
    if under is None:
        ground = view.ground + 6 * cv2.GaussianBlur(chance.normal(size=x.shape), (0, 0), 3) * 6
    else:
        ground = under[..., 0].astype(np.float64)
    open_: NDArray[np.float64] | float = 1.0
    for layer in layers:
        plane = view.plane(layer.height)
        at = plane.points(pixels) - np.asarray(layer.offset)
        radius = np.hypot(at[:, 0], at[:, 1]).reshape(x.shape)
        grain = cv2.GaussianBlur(chance.normal(size=x.shape), (0, 0), 1.2) * view.texture * 2
        light = 1 + layer.gloss * (at[:, 0] / np.maximum(radius.ravel(), 1e-6)).reshape(x.shape)
        cover = np.clip((layer.radius - radius) * view.radius_px + 0.5, 0, 1)
        if layer.opening:
            cover = open_ = cover * open_
        ground = ground * (1 - cover) + cover * (layer.level * light + grain)
    ground = ground * (0.9 + 0.2 * x / view.width)
    ground = cv2.GaussianBlur(ground, (0, 0), 0.8) + chance.normal(size=x.shape) * view.noise
    grey = np.clip(ground, 0, 255).astype(np.uint8)
    return np.asarray(np.dstack([grey, grey, grey]), np.uint8)
