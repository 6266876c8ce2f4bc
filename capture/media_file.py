"""Opening a recording or a video with PyAV: the one place where its errors are translated."""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from fractions import Fraction
from pathlib import Path

import av
import av.container

from capture.file_end import check_end
from capture.file_kinds import file_kind, read_head
from shared.errors import SoundEmpty, SoundNotFound, SoundUnreadable

#: Only these are opened. Left to itself the library also follows playlists, which may name any other
#: file or a server.
_FORMATS = (
    "aac,aiff,amr,amrnb,amrwb,asf,au,avi,caf,flac,flv,matroska,webm,mov,mp4,m4a,3gp,3g2,mj2,mp3,mpegts,"
    "ogg,tta,w64,wav,wv"
)
_OPTIONS = {"format_whitelist": _FORMATS, "protocol_whitelist": "file"}

EXPECTED = "WAV, FLAC, OGG/Opus, MP3, M4A, MP4, MOV or WebM"


@contextmanager
def open_media(path: Path) -> Iterator[av.container.InputContainer]:
    """Open a recording or a video.

    Raises:
        SoundNotFound: no such file.
        SoundEmpty: a file of no bytes.
        SoundUnreadable: nothing that we decode.
    """
    _check_file(path)
    with ExitStack() as stack:
        try:
            container = av.open(f"file:{path.absolute()}", options=_OPTIONS, metadata_errors="replace")
        except (av.error.FFmpegError, OSError) as exc:
            container = _open_up_to_damage(path, exc, stack)
        yield stack.enter_context(container)


def _open_up_to_damage(path: Path, error: Exception, stack: ExitStack) -> av.container.InputContainer:
    """Open an MP4 that was cut inside of a fragment's index: the library gives up the whole file for it."""
    good_bytes = check_end(path, "mov").good_bytes
    try:
        if not good_bytes or "MP4" not in _kind_name(path):
            raise error
        first_part = stack.enter_context(FirstBytes(path, good_bytes))
        return av.open(first_part, "r", format="mp4", options=_OPTIONS, metadata_errors="replace")
    except (av.error.FFmpegError, OSError) as exc:
        raise SoundUnreadable(
            _why_not_opened(path, error), where=str(path), expected=EXPECTED, remedy="try another copy of it"
        ) from exc


class FirstBytes(io.RawIOBase):
    """The first so many bytes of a file, as if it ended there."""

    def __init__(self, path: Path, count: int) -> None:
        self._file = path.open("rb")
        self._count = count

    def readable(self) -> bool:
        """Yes."""
        return True

    def seekable(self) -> bool:
        """Yes."""
        return True

    def read(self, size: int = -1) -> bytes:
        """Read on, at most to the new end."""
        left = max(0, self._count - self._file.tell())
        return self._file.read(left if size < 0 else min(size, left))

    def seek(self, offset: int, whence: int = io.SEEK_SET) -> int:
        """Go to a byte; the end is the new end."""
        if whence == io.SEEK_END:
            return self._file.seek(self._count + offset)
        return self._file.seek(offset, whence)

    def tell(self) -> int:
        """Return the byte that is read next."""
        return self._file.tell()

    def close(self) -> None:
        """Close the file."""
        self._file.close()
        super().close()


def media_start(container: av.container.InputContainer) -> Fraction:
    """Return the time stamp, in seconds, that counts as the beginning of the recording."""
    return Fraction(container.start_time or 0, av.time_base)


def said_by(error: BaseException) -> str:
    """Return what the library said, without the file name and numbers that it puts around it."""
    if isinstance(error, av.error.InvalidDataError):
        return "invalid data"
    text = getattr(error, "strerror", None) or str(error)
    return " ".join(str(text).split())


def _check_file(path: Path) -> None:
    where = str(path)
    try:
        if path.is_dir():
            raise SoundUnreadable("this is a folder", where=where, expected="a recording")
        head = read_head(path)
    except FileNotFoundError as exc:
        raise SoundNotFound("no such recording", where=where, remedy="check the name") from exc
    except OSError as exc:
        raise SoundUnreadable(
            f"the file cannot be read ({said_by(exc)})", where=where, remedy="check its permissions"
        ) from exc
    if not head:
        raise SoundEmpty(
            "the file is empty", where=where, expected="a recording", remedy="copy it again from its source"
        )
    kind = file_kind(head)
    if kind is not None and kind.family != "sound":
        raise SoundUnreadable(f"this is {kind.name}, whatever its name says", where=where, expected=EXPECTED)


def _why_not_opened(path: Path, error: Exception) -> str:
    name = _kind_name(path)
    if not name:
        return "this is no recording that can be decoded"
    if "MP4" in name:
        return "the recording was cut off or never closed: its index is damaged or missing"
    return f"this begins like {name} but cannot be decoded ({said_by(error)})"


def _kind_name(path: Path) -> str:
    kind = file_kind(read_head(path))
    return kind.name if kind is not None else ""
