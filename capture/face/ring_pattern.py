"""What tells other round parts from a seal face: a pattern that repeats round about, and paint.

Bolt holes, balls, teeth and flats come again at even angles, on the ring or beside it; a lapped face has
grain, marks and light that do not. And faces are grey, black, white or ivory: strong colour is paint, plastic
or rubber.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane
from capture.picture_quality import Picture

Array = NDArray[np.float64]

_COLUMNS = 256
#: Rows are so far apart, outer radii; the picture is made so small first that this is a pixel or so.
_PITCH, _RADIUS_PX = 0.01, 110.0
#: Bands in which a pattern is looked for: on the face from its inner (0) to its outer edge (1), beyond it in
#: outer radii, within the bore in shares of its radius.
_FACE = ((0.06, 0.36), (0.36, 0.66), (0.66, 0.94))
_BEYOND = ((1.03, 1.12), (1.12, 1.25), (1.25, 1.45))
_WITHIN = ((0.6, 0.8), (0.8, 0.96))
#: How often a pattern may come round (light from lamps has few waves), and up to which wave it is followed.
_FEWEST, _MOST, _LAST_WAVE = 4, 30, 60
#: Grey levels added before light is compared as a ratio; a band of which less is in the picture is left out.
_DARK, _IN_PICTURE = 10.0, 0.75
#: Added before a size is taken as a logarithm: less is none.
_FAINT, _GREY = 0.01, 3.0


def pattern_measures(picture: Picture, plane: FacePlane) -> dict[str, float]:
    """Measure what repeats on a ring, beyond it and in its bore, and its colour, by name.

    Args:
        picture: shape = (height, width, 3), full resolution.
        plane: of the ring, in its pixels.
    """
    lab, inside = _unrolled(picture, plane)
    bore, width = plane.bore, 1 - plane.bore
    found: dict[str, float] = {}
    for name, bands in (
        ("face", [(bore + first * width, bore + last * width) for first, last in _FACE]),
        ("beyond", list(_BEYOND)),
        ("within", [(first * bore, last * bore) for first, last in _WITHIN]),
    ):
        repeats = [_repeat(lab, inside, *band) for band in bands]
        size, share = max(repeats, key=lambda one: one[0] * one[1])
        found[f"repeat_{name}"] = float(np.log(size * share + _FAINT))
        found[f"repeat_share_{name}"] = share
    rows = slice(round((bore + 0.1 * width) / _PITCH), max(round((1 - 0.1 * width) / _PITCH), 1))
    hue = np.median(lab[rows][..., 1:].reshape(-1, 2), axis=0)
    found["paint"] = float(np.log(np.hypot(*hue) + _GREY))
    found["paint_red_green"] = float(np.log(abs(hue[0]) + _GREY))
    return found


def _unrolled(picture: Picture, plane: FacePlane) -> tuple[Array, NDArray[np.bool_]]:
    """Return the ring and its surroundings by radius and angle, as Lab, and what lies in the picture."""
    shrink = min(1.0, 2 * _RADIUS_PX / plane.outer.major_px)
    small = cv2.resize(picture, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA)
    radii = np.arange(0.5, 1 + _BEYOND[-1][1] / _PITCH) * _PITCH
    radius, angle = np.meshgrid(radii, np.arange(_COLUMNS) * (360.0 / _COLUMNS), indexing="ij")
    at = plane.polar_pixels(radius.ravel(), angle.ravel()).reshape(*radius.shape, 2)
    at = (at + 0.5) * shrink - 0.5
    inside = ((at >= 0) & (at <= np.array(small.shape[1::-1]) - 1)).all(axis=2)
    strip = cv2.remap(small, at.astype(np.float32), None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    lab = cv2.cvtColor(strip.astype(np.float32) / 255, cv2.COLOR_BGR2Lab)
    return np.asarray(lab, np.float64), np.asarray(inside, np.bool_)


def _repeat(lab: Array, inside: NDArray[np.bool_], first: float, last: float) -> tuple[float, float]:
    """Return how strong the boldest pattern of a band is, and its share of all that is not smooth."""
    rows = slice(round(first / _PITCH), max(round(last / _PITCH), round(first / _PITCH) + 1))
    if float(inside[rows].mean()) < _IN_PICTURE:
        return 0.0, 0.0
    light = np.log(2.55 * lab[rows][..., 0].mean(axis=0) + _DARK)
    waves = np.abs(np.fft.rfft(light))[1 : _LAST_WAVE + 1] ** 2 * (2 / _COLUMNS**2)
    number = np.arange(1, _LAST_WAVE + 1)
    total = float(waves[number >= _FEWEST].sum())
    its = number % np.arange(_FEWEST, _MOST + 1)[:, None] == 0
    others = (number >= _FEWEST) & ~its
    over = its @ waves - (others @ waves) / others.sum(axis=1) * its.sum(axis=1)
    best = max(float(over.max()), 0.0)
    return float(np.sqrt(best)), best / (total + 1e-6)
