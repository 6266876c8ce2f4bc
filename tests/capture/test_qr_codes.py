"""Tags and badges in a camera's picture, as they look at a bench.

Measured on 26 November 2026 with 40 rendered frames of 1280 x 720 a fault (tag of level Q, 180 to 320 px
wide): read by zxing-cpp in one look, with the further looks of ``capture/qr_codes.py``, by OpenCV's
QRCodeDetector and QRCodeDetectorAruco:

    tilt 45-62 deg 34  35   9  30        noise, sigma 18-35     28  40   8   6
    blur 1.5-2.6   39  40  19  21        grease, 3-9 blots      23  37  23  21
    motion 7-12 px 18  27   9   6        none of them ever read another text
"""

from __future__ import annotations

import cv2
import numpy as np
import pytest
import segno
from numpy.typing import NDArray

from api.tags.qr_drawing import LEVEL
from capture.qr_codes import read_qr_codes
from shared.errors import PictureUnreadable

TEXT = "WM1/job/wo=4417/tag=P-101/sheet=wash-water-end-suction"
Grey = NDArray[np.uint8]


def tag(text: str = TEXT, side_px: int = 540) -> Grey:
    matrix = np.array([list(row) for row in segno.make(text, error=LEVEL, micro=False).matrix], np.uint8)
    squares = np.pad(1 - matrix, 4, constant_values=1) * 175 + 40  # ink is not black, paper not white
    return np.asarray(cv2.resize(squares, (side_px, side_px), interpolation=cv2.INTER_NEAREST), np.uint8)


def held_up(picture: Grey, *, side_px: float = 250, tilt_deg: float = 0, turn_deg: float = 10) -> Grey:
    """The tag before a camera of 1280 x 720."""
    a, b = np.deg2rad(tilt_deg), np.deg2rad(turn_deg)
    corners = np.array([[-1, -1, 0], [1, -1, 0], [1, 1, 0], [-1, 1, 0]]) / 2
    turned = corners @ np.array([[np.cos(b), np.sin(b), 0], [-np.sin(b), np.cos(b), 0], [0, 0, 1]])
    tilted = turned @ np.array([[1, 0, 0], [0, np.cos(a), np.sin(a)], [0, -np.sin(a), np.cos(a)]])
    far = 1000 / side_px
    seen = np.stack([tilted[:, 0], tilted[:, 1]], 1) * 1000 / (far + tilted[:, 2:]) + (640, 360)
    side = len(picture)
    flat = np.array([[0, 0], [side, 0], [side, side], [0, side]], np.float32)
    plane = cv2.getPerspectiveTransform(flat, seen.astype(np.float32))
    scene = np.full((720, 1280), 110, np.uint8)
    return np.asarray(
        cv2.warpPerspective(picture, plane, (1280, 720), scene, cv2.INTER_AREA, cv2.BORDER_TRANSPARENT),
        np.uint8,
    )


def frame(scene: Grey, *, noise: float = 4) -> bytes:
    rng = np.random.default_rng(1)
    noisy = np.clip(scene + rng.normal(0, noise, scene.shape), 0, 255).astype(np.uint8)
    return bytes(cv2.imencode(".jpg", noisy, [cv2.IMWRITE_JPEG_QUALITY, 90])[1])


def greasy(picture: Grey) -> Grey:
    smeared, side = picture.astype(np.float32), len(picture)
    for x, y in ((0.55, 0.6), (0.7, 0.42), (0.4, 0.75)):
        blot = np.zeros(picture.shape, np.float32)
        cv2.circle(blot, (round(x * side), round(y * side)), round(0.045 * side), 1, -1)
        blot = cv2.GaussianBlur(blot, (0, 0), 4)
        smeared = smeared * (1 - 0.75 * blot) + 70 * 0.75 * blot
    return smeared.astype(np.uint8)


@pytest.mark.parametrize(
    ("scene", "noise"),
    [
        (held_up(tag()), 4),
        (held_up(tag(), tilt_deg=45, turn_deg=130), 4),
        (held_up(tag(), side_px=110), 4),
        (held_up(greasy(tag())), 4),
        (np.asarray(cv2.GaussianBlur(held_up(tag()), (0, 0), 2.0), np.uint8), 4),
        (np.asarray(held_up(tag()) // 6, np.uint8), 6),
        (held_up(tag()), 28),
    ],
    ids=["clean", "tilted", "small", "greasy", "out of focus", "dark", "noisy"],
)
def test_a_tag_is_read_as_benches_see_it(scene: Grey, noise: float) -> None:
    assert read_qr_codes(frame(scene, noise=noise)) == (TEXT,)


def test_two_tags_are_two() -> None:
    both = np.hstack([tag("WM1/job/wo=1", 300), tag("WM1/badge/t=x", 300)])
    assert set(read_qr_codes(frame(both))) == {"WM1/job/wo=1", "WM1/badge/t=x"}


def test_a_picture_without_a_tag_gives_none() -> None:
    assert read_qr_codes(frame(np.full((480, 640), 90, np.uint8), noise=20)) == ()


@pytest.mark.parametrize("data", [b"", b"GIF8", b"no picture", frame(tag())[:400]])
def test_what_is_no_frame_is_refused_in_one_line(data: bytes) -> None:
    with pytest.raises(PictureUnreadable):
        read_qr_codes(data)


def test_a_frame_that_unpacks_to_gigabytes_is_not_unpacked() -> None:
    large = bytearray(cv2.imencode(".png", np.zeros((8, 8), np.uint8))[1].tobytes())
    large[16:24] = (60_000).to_bytes(4, "big") * 2
    with pytest.raises(PictureUnreadable, match="at most"):
        read_qr_codes(bytes(large))
