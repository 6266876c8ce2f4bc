"""The sharpest picture of a few seconds of a phone video.

"Picture of the seat face" is said while the camera still swings round and its focus hunts; the sharpest
frame of the seconds after it is what a reviewer wants to see.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from fractions import Fraction
from pathlib import Path
from typing import NamedTuple

import av
import av.container
import av.stream
import numpy as np

from capture.media_file import media_start, open_media, said_by
from capture.picture_quality import Picture, grey_sharpness, judge_picture
from capture.pictures import MOST_PIXELS
from shared.errors import PictureError, PictureNotFound, PictureUnreadable, SoundError, SoundNotFound
from shared.photo import PictureQuality

_GREY_WIDTH_PX = 640
#: A seek that lands later than this after where it was to go is not trusted.
_SEEK_SLACK_S = 0.2
_DEGREES_A_QUARTER = 90


class SharpestFrame(NamedTuple):
    """A frame of a video."""

    picture: Picture
    """Shape = (height, width, 3), uint8, blue, green, red, upright."""
    time_s: float
    """Seconds from the start of the recording, as in its sound."""
    quality: PictureQuality


def has_video(path: Path | str) -> bool:
    """Tell whether a recording holds moving pictures (the cover of a sound file is none).

    Raises:
        PictureNotFound, PictureUnreadable: no such file, or nothing that we decode.
    """
    with _opened(Path(path)) as container:
        return _video_stream(container) is not None


def sharpest_frame(path: Path | str, start_s: float, seconds: float = 3.0) -> SharpestFrame:
    """Return the sharpest frame from one moment on.

    Memory holds one frame besides those of the decoder, however long the video.

    Args:
        path: MP4, MOV, WebM or another video.
        start_s: seconds from the start of the recording.
        seconds: how long to look.

    Raises:
        PictureNotFound: no such file, or the video has no frame then.
        PictureUnreadable: no video, or its frames cannot be decoded.
    """
    path = Path(path)
    if not start_s >= 0 or not 0 < seconds <= 60:
        raise ValueError(f"expected start_s >= 0 and 0 < seconds <= 60, got {start_s} and {seconds}")
    best = _look(path, start_s, start_s + seconds)
    picture = _upright(best.frame)
    return SharpestFrame(picture, best.time_s, judge_picture(picture))


class _Best(NamedTuple):
    sharpness: float
    time_s: float
    frame: av.VideoFrame


class _Look:
    """One pass over the frames of a stretch."""

    def __init__(self, start_s: float, end_s: float) -> None:
        self.best: _Best | None = None
        self.first_s: float | None = None
        self.last_s: float | None = None
        self.complaint = ""
        self._start_s, self._end_s = start_s, end_s

    def over(self, container: av.container.InputContainer, stream: av.VideoStream) -> None:
        """Look at the frames from where the container stands to the end of the stretch."""
        begin = media_start(container)
        for frame in self._frames(container, stream):
            if frame.pts is None or frame.time_base is None or frame.is_corrupt:
                continue
            time_s = float(frame.pts * frame.time_base - begin)
            self.first_s = time_s if self.first_s is None else self.first_s
            self.last_s = time_s
            if time_s >= self._end_s:
                return
            if time_s >= self._start_s:
                sharpness = _frame_sharpness(frame)
                if self.best is None or sharpness > self.best.sharpness:
                    self.best = _Best(sharpness, time_s, frame)

    def _frames(
        self, container: av.container.InputContainer, stream: av.VideoStream
    ) -> Iterator[av.VideoFrame]:
        try:
            for packet in container.demux(stream):
                try:
                    yield from packet.decode()
                except av.error.EOFError:
                    return
                except av.error.FFmpegError as exc:
                    self.complaint = said_by(exc)  # The frames behind it may be good.
        except av.error.FFmpegError as exc:
            self.complaint = said_by(exc)


def _look(path: Path, start_s: float, end_s: float) -> _Best:
    look = _Look(start_s, end_s)
    with _opened(path) as container:
        stream = _checked_stream(container, path)
        sought = start_s > _SEEK_SLACK_S and _seek(container, start_s)
        look.over(container, stream)
        too_late = look.first_s is None or look.first_s > start_s + _SEEK_SLACK_S
    if sought and too_late:
        # Its index led nowhere, or past the place: read it from the beginning.
        look = _Look(start_s, end_s)
        with _opened(path) as container:
            look.over(container, _checked_stream(container, path))
    if look.best is not None:
        return look.best
    raise _nothing_found(path, look, start_s)


def _seek(container: av.container.InputContainer, start_s: float) -> bool:
    try:
        container.seek(round((media_start(container) + Fraction(start_s)) * av.time_base), backward=True)
    except av.error.FFmpegError:
        return False
    return True


def _nothing_found(path: Path, look: _Look, start_s: float) -> PictureError:
    if look.last_s is None:
        said = f" ({look.complaint})" if look.complaint else ""
        return PictureUnreadable(f"no picture of this video can be decoded{said}", where=str(path))
    return PictureNotFound(
        f"the video has no picture from {start_s:.1f} s on",
        where=str(path),
        expected=f"at most {look.last_s:.1f} s",
    )


@contextmanager
def _opened(path: Path) -> Iterator[av.container.InputContainer]:
    try:
        with open_media(path) as container:
            yield container
    except SoundError as exc:
        kind = PictureNotFound if isinstance(exc, SoundNotFound) else PictureUnreadable
        raise kind(exc.what, where=exc.where, expected="a video", remedy=exc.remedy) from exc


def _video_stream(container: av.container.InputContainer) -> av.VideoStream | None:
    for stream in container.streams.video:
        # A stream in a codec that the library does not know has no context, whatever its type says.
        known = getattr(stream, "codec_context", None) is not None
        if known and not stream.disposition & av.stream.Disposition.attached_pic:
            return stream
    return None


def _checked_stream(container: av.container.InputContainer, path: Path) -> av.VideoStream:
    stream = _video_stream(container)
    if stream is None:
        raise PictureUnreadable("this recording has no pictures", where=str(path), expected="a video")
    if stream.width * stream.height > MOST_PIXELS:
        raise PictureUnreadable(f"its frames have {stream.width} x {stream.height} pixels", where=str(path))
    stream.codec_context.thread_type = "AUTO"
    stream.codec_context.thread_count = 2
    return stream


def _frame_sharpness(frame: av.VideoFrame) -> float:
    height = max(2, round(frame.height * _GREY_WIDTH_PX / frame.width))
    grey = frame.reformat(width=_GREY_WIDTH_PX, height=height, format="gray").to_ndarray()
    return grey_sharpness(np.asarray(grey, np.float32))


def _upright(frame: av.VideoFrame) -> Picture:
    picture = np.asarray(frame.to_ndarray(format="bgr24"), np.uint8)
    # The display matrix turns counter-clockwise, as numpy does.
    return np.ascontiguousarray(np.rot90(picture, round(frame.rotation / _DEGREES_A_QUARTER)))
