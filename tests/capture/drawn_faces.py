"""Seal faces that the tests draw: a pinhole camera over a bench, in linear light; no renderer needed."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cache, lru_cache

import cv2
import numpy as np

from capture.face.plane import FacePlane

#: Texture pixels a millimetre, and half of the bench that is drawn, millimetres.
_FINE, _HALF_MM = 10, 80
_SIZE = (1280, 960)


@dataclass(frozen=True)
class View:
    """Where the camera is, and what lies on the bench. Light is linear, 0 to 1."""

    tilt_deg: float = 15.0
    towards_deg: float = 70.0
    distance_mm: float = 220.0
    focal_px: float = 1500.0
    aim_mm: tuple[float, float] = (12.0, -4.0)
    outer_mm: float = 22.0
    inner_mm: float = 17.0
    face: float = 0.32
    shell: float = 0.18
    bench: float = 0.25
    bench_texture: float = 0.25
    bench_seed: int = 3
    markers: tuple[tuple[float, float, float], ...] = ()
    """Middle x, y (millimetres) and turn (degrees) of each."""
    marker_mm: float = 20.0
    second_face_mm: tuple[float, float] | None = None


_FROM_ANYWHERE = {
    name: getattr(View(), name) for name in ("tilt_deg", "towards_deg", "distance_mm", "focal_px", "aim_mm")
}


def to_px(view: View) -> np.ndarray:
    """Homography from millimetres of the bench (x right, y up, face in the middle) to pixels."""
    tilt, turn = math.radians(view.tilt_deg), math.radians(view.towards_deg)
    away = np.array([math.cos(turn) * math.sin(tilt), math.sin(turn) * math.sin(tilt), math.cos(tilt)])
    aim = np.array([*view.aim_mm, 0.0])
    camera = aim + view.distance_mm * away
    right = np.cross([0.0, 1.0, 0.0], away)
    right /= np.linalg.norm(right)
    down = -np.cross(away, right)
    turned = np.stack([right, down, -away])
    columns = np.stack([turned[:, 0], turned[:, 1], -turned @ camera], axis=1)
    lens = np.array([[view.focal_px, 0, _SIZE[0] / 2], [0, view.focal_px, _SIZE[1] / 2], [0, 0, 1.0]])
    return lens @ columns / (lens @ columns)[2, 2]


def plane_of(view: View) -> FacePlane:
    radius = view.outer_mm
    return FacePlane(to_px(view) @ np.diag([radius, radius, 1.0]), view.inner_mm / radius)


@cache
def light_of(view: View) -> np.ndarray:
    """The picture's light before any fault, float32, shape = (960, 1280)."""
    # What lies on it is the same wherever the camera is.
    bench = _bench(replace(view, **_FROM_ANYWHERE))
    double = np.diag([2.0, 2.0, 1.0])
    double[:2, 2] = 0.5
    place = np.array([[1 / _FINE, 0, -_HALF_MM], [0, -1 / _FINE, _HALF_MM], [0, 0, 1.0]])
    fine = cv2.warpPerspective(
        bench, double @ to_px(view) @ place, (2 * _SIZE[0], 2 * _SIZE[1]), flags=cv2.INTER_LINEAR,
        borderMode=cv2.BORDER_REFLECT_101,
    )  # fmt: skip
    return np.asarray(cv2.resize(fine, _SIZE, interpolation=cv2.INTER_AREA), np.float32)


def coded(light: np.ndarray, noise: float = 0.004, seed: int = 5, quality: int = 90) -> np.ndarray:
    """The picture as a camera stores it: noise, sRGB coding, JPEG; uint8, BGR."""
    lit = light.astype(np.float32)[:, :, None] * np.float32([0.95, 1.0, 1.02])
    grain = np.zeros_like(lit)
    cv2.setRNGSeed(seed)
    cv2.randn(grain, 0, 1.5 * noise)
    level = cv2.pow(np.clip(lit + grain * np.sqrt(0.2 + lit), 0, 1), 1 / 2.2)
    packed = cv2.imencode(".jpg", np.rint(255 * level).astype(np.uint8), [cv2.IMWRITE_JPEG_QUALITY, quality])
    return np.asarray(cv2.imdecode(packed[1], cv2.IMREAD_COLOR), np.uint8)


def textured(light: np.ndarray, share: float = 0.05, seed: int = 1) -> np.ndarray:
    """With the grain that every lapped surface has, as a share of its brightness."""
    grain = np.random.default_rng(seed).standard_normal(light.shape).astype(np.float32)
    grain = cv2.GaussianBlur(grain, (0, 0), 1.5)
    return light * np.exp(share / grain.std() * grain)


def defocused(light: np.ndarray, radius_px: float) -> np.ndarray:
    """Blurred by a disk, as an open lens does."""
    reach = math.ceil(radius_px) + 1
    y, x = np.mgrid[-reach : reach + 1, -reach : reach + 1]
    disk = np.clip(radius_px + 0.5 - np.hypot(x, y), 0, 1)
    return cv2.filter2D(light, cv2.CV_32F, disk / disk.sum(), borderType=cv2.BORDER_REFLECT_101)


def shaken(light: np.ndarray, length_px: float, towards_deg: float) -> np.ndarray:
    """Blurred along a line."""
    reach = math.ceil(length_px / 2) + 1
    trail = np.zeros((2 * reach + 1, 2 * reach + 1), np.float32)
    for along in np.linspace(-length_px / 2, length_px / 2, 4 * reach):
        x, y = along * math.cos(math.radians(towards_deg)), -along * math.sin(math.radians(towards_deg))
        shift = np.float32([[1, 0, x], [0, 1, y]])
        dot = np.zeros_like(trail)
        dot[reach, reach] = 1
        trail += cv2.warpAffine(dot, shift, trail.shape[::-1])
    return cv2.filter2D(light, cv2.CV_32F, trail / trail.sum(), borderType=cv2.BORDER_REFLECT_101)


def glared(light: np.ndarray, view: View, at_deg: float, size_mm: float, strength: float = 1.5) -> np.ndarray:
    """A lamp mirrored in the face: a bright lobe about a place on it."""
    plane = plane_of(view)
    x, y = plane.polar_pixels(np.array([(1 + plane.bore) / 2]), np.array([at_deg]))[0]
    size = size_mm * plane.outer.major_px / 2 / view.outer_mm
    rows, columns = np.mgrid[: light.shape[0], : light.shape[1]]
    lobe = strength * np.exp(-(((columns - x) ** 2 + (rows - y) ** 2) / (2 * (size / 2) ** 2)))
    return light + (lobe * face_share(view)).astype(np.float32)


def face_share(view: View) -> np.ndarray:
    """Which pixels are flat face, shape = (960, 1280)."""
    plane = plane_of(view)
    rows, columns = np.mgrid[: _SIZE[1], : _SIZE[0]]
    at = plane.points(np.column_stack([columns.ravel(), rows.ravel()]).astype(float))
    radius = np.hypot(*at.T).reshape(_SIZE[1], _SIZE[0])
    return (radius < 1) & (radius > plane.bore)


@lru_cache(8)
def _bench(view: View) -> np.ndarray:
    side = 2 * _HALF_MM * _FINE
    random = np.random.default_rng(view.bench_seed)
    coarse = cv2.resize(random.standard_normal((side // 40, side // 40)).astype(np.float32), (side, side))
    fine = cv2.GaussianBlur(random.standard_normal((side, side)).astype(np.float32), (0, 0), 2) * 3
    bench = view.bench * np.exp(view.bench_texture * (0.6 * coarse + fine))
    for x, y, turn in view.markers:
        bench = _with_marker(bench, view, x, y, turn)
    bench = _with_face(bench, view, (0.0, 0.0))
    return _with_face(bench, view, view.second_face_mm) if view.second_face_mm else bench


def _with_face(bench: np.ndarray, view: View, at: tuple[float, float]) -> np.ndarray:
    side = bench.shape[0]
    rows, columns = np.mgrid[:side, :side].astype(np.float32)
    x, y = columns / _FINE - _HALF_MM - at[0], _HALF_MM - rows / _FINE - at[1]
    radius = np.hypot(x, y)
    for reach, level in (
        (view.outer_mm + 4, view.shell), (view.outer_mm, view.face), (view.inner_mm, 0.6 * view.shell),
        (view.inner_mm - 5, 0.05),
    ):  # fmt: skip
        inside = np.clip((reach - radius) * _FINE + 0.5, 0, 1)
        bench = bench * (1 - inside) + level * inside
    return bench.astype(np.float32)


def _with_marker(bench: np.ndarray, view: View, x: float, y: float, turn: float) -> np.ndarray:
    cell = 32
    drawn = cv2.aruco.generateImageMarker(
        cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50), 7, 6 * cell
    ).astype(np.float32)
    paper = np.full((8 * cell, 8 * cell), 255, np.float32)
    paper[cell:-cell, cell:-cell] = drawn
    # Grey level to light, and from the paper's pixels to the bench's.
    paper = 0.03 + 0.6 * paper / 255
    scale = view.marker_mm * _FINE / (6 * cell)
    cosine, sine = math.cos(math.radians(turn)) * scale, math.sin(math.radians(turn)) * scale
    middle = 4 * cell - 0.5
    column, row = (x + _HALF_MM) * _FINE, (_HALF_MM - y) * _FINE
    move = np.float32(
        [
            [cosine, sine, column - middle * (cosine + sine)],
            [-sine, cosine, row - middle * (cosine - sine)],
        ]
    )
    size = (bench.shape[1], bench.shape[0])
    placed = cv2.warpAffine(paper, move, size, flags=cv2.INTER_AREA)
    there = cv2.warpAffine(np.ones_like(paper), move, size)
    return np.asarray(bench * (1 - there) + placed * there, np.float32)
