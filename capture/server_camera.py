"""A camera at the server itself: USB by its number, a network camera by its address, a video file for tests.

It is opened for each burst and closed again: one that was unplugged and plugged in works the next time, and
nobody has to start anything anew.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from urllib.parse import urlsplit, urlunsplit

# What the decoder library has to say goes into our one line; read when it is first used.
os.environ.setdefault("OPENCV_FFMPEG_LOGLEVEL", "-8")

import cv2
import numpy as np

from capture.picture_quality import Picture
from shared.errors import CameraFailed

#: Milliseconds after which a camera that does not answer is given up.
_WAIT_MS = 5000
#: Seconds that a camera just opened needs to find its light and focus, and of the burst after them.
_SETTLE_S, _BURST_S = 0.7, 1.0
#: Frames of a burst at most: more are no sharper.
_MOST_FRAMES = 24


def bench_source(setting: str | None, bench: str | None) -> str | None:
    """Return the camera of a bench, None for none.

    Args:
        setting: one camera for all benches ("0", "rtsp://…", a file), or several by the bench's name, parted
            by semicolons ("bench 1=0; bench 2=rtsp://…").
        bench: name of the bench, None where it has none.
    """
    for entry in (setting or "").split(";"):
        name, equals, source = entry.strip().partition("=")
        if not equals or "://" in name:
            if entry.strip():
                return entry.strip()
        elif bench is not None and name.strip().lower() == bench.strip().lower():
            return source.strip() or None
    return None


def shown_source(source: str) -> str:
    """Return what a camera is called in a message: an address without name and password."""
    parts = urlsplit(source)
    if not parts.hostname:
        return f"camera {source}"
    host = parts.hostname if parts.port is None else f"{parts.hostname}:{parts.port}"
    return f"camera {urlunsplit((parts.scheme, host, parts.path, '', ''))}"


def burst_of(source: str) -> Iterator[Picture]:
    """Yield the pictures of about a second, each shape = (height, width, 3), uint8, blue, green, red.

    Args:
        source: a number of a USB camera, an address (rtsp, http) or a video file.

    Raises:
        CameraFailed: it cannot be opened, or gives no picture.
    """
    with _opened(source) as camera:
        if source.isdecimal() or "://" in source:
            _settle(camera)
        got, until = 0, time.monotonic() + _BURST_S
        while got < _MOST_FRAMES and (not got or time.monotonic() < until):
            there, frame = camera.read()
            if not there or frame is None:
                break
            got += 1
            yield np.asarray(frame, np.uint8)
        if not got:
            raise CameraFailed(
                f"the {shown_source(source)} gives no picture", remedy="is it plugged in, and its lens free?"
            )


@contextmanager
def _opened(source: str) -> Iterator[cv2.VideoCapture]:
    try:
        camera = cv2.VideoCapture()
        if source.isdecimal():
            camera.open(int(source), cv2.CAP_ANY)
            camera.set(cv2.CAP_PROP_FRAME_WIDTH, 1920)
            camera.set(cv2.CAP_PROP_FRAME_HEIGHT, 1080)
        else:
            waits = [cv2.CAP_PROP_OPEN_TIMEOUT_MSEC, _WAIT_MS, cv2.CAP_PROP_READ_TIMEOUT_MSEC, _WAIT_MS]
            camera.open(source, cv2.CAP_FFMPEG, waits)
    except cv2.error as exc:
        raise CameraFailed(f"the {shown_source(source)} cannot be opened ({exc.err})") from exc
    try:
        if not camera.isOpened():
            raise CameraFailed(
                f"the {shown_source(source)} does not answer", remedy="is it plugged in and switched on?"
            )
        yield camera
    finally:
        camera.release()


def _settle(camera: cv2.VideoCapture) -> None:
    """Let pass what a camera shows before it has found its light; what lay in its buffer goes, too."""
    until = time.monotonic() + _SETTLE_S
    while time.monotonic() < until and camera.grab():
        pass
