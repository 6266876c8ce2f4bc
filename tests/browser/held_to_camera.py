"""What a browser's fake camera sees: one thing held still, as a video of single JPEGs."""

from __future__ import annotations

from pathlib import Path

import cv2
import numpy as np

_SIZE = (1280, 960)
_FRAMES = 20


def camera_file(path: Path, picture: Path) -> Path:
    """Write a video of a picture, filling the view as far as it goes on a bench-grey ground."""
    seen = cv2.imread(str(picture))
    assert seen is not None, picture
    scale = min(_SIZE[0] / seen.shape[1], _SIZE[1] / seen.shape[0])
    seen = cv2.resize(seen, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    frame = np.full((_SIZE[1], _SIZE[0], 3), 128, np.uint8)
    top, left = ((whole - part) // 2 for whole, part in zip(frame.shape[:2], seen.shape[:2], strict=True))
    frame[top : top + seen.shape[0], left : left + seen.shape[1]] = seen
    jpeg = cv2.imencode(".jpg", frame, [cv2.IMWRITE_JPEG_QUALITY, 95])[1].tobytes()
    path.write_bytes(jpeg * _FRAMES)
    return path
