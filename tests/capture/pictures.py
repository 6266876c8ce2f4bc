"""Pictures that the tests draw, and the ways in which they are spoilt."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

FIXTURES = Path(__file__).parents[2] / "fixtures" / "pictures"


def draw_part(seed: int = 1, width: int = 1280, height: int = 960) -> np.ndarray:
    """A ring on a bench with tool marks, scratches and a shadow; uint8, BGR."""
    random = np.random.default_rng(seed)
    picture = np.full((height, width, 3), (70, 80, 90), np.uint8)
    centre = (width // 2 + int(random.integers(-40, 40)), height // 2)
    unit = height // 12
    cv2.circle(
        picture, (centre[0] + unit // 2, centre[1] + unit // 2), 4 * unit, (35, 40, 45), -1, cv2.LINE_AA
    )
    cv2.circle(picture, centre, 4 * unit, (150, 155, 160), -1, cv2.LINE_AA)
    cv2.circle(picture, centre, 2 * unit, (50, 50, 50), -1, cv2.LINE_AA)
    for _ in range(25):
        angle, length = random.uniform(0, 2 * np.pi), random.uniform(0.3, 1.5) * unit
        start = np.array(centre) + 3 * unit * np.array([np.cos(angle), np.sin(angle)])
        end = start + length * random.standard_normal(2)
        cv2.line(
            picture, start.astype(int).tolist(), end.astype(int).tolist(), (100, 100, 105), 2, cv2.LINE_AA
        )
    return picture


def with_noise(picture: np.ndarray, levels: float, seed: int = 2) -> np.ndarray:
    noise = np.random.default_rng(seed).normal(0, levels, picture.shape)
    return np.clip(picture + noise, 0, 255).astype(np.uint8)


def out_of_focus(picture: np.ndarray, sigma_px: float) -> np.ndarray:
    return cv2.GaussianBlur(picture, (0, 0), sigma_px)


def moved(picture: np.ndarray, length_px: int, *, diagonal: bool = False) -> np.ndarray:
    kernel = np.eye(length_px) if diagonal else np.zeros((length_px, length_px))
    if not diagonal:
        kernel[length_px // 2] = 1
    return cv2.filter2D(picture, -1, kernel / length_px)
