"""Whether a recording ends where its own structure says that it ends.

Decoders take the end of a file for the end of the sound. Recordings are cut by full cards, flat
batteries and broken copies, so each container's own book-keeping is read here: only headers and
lengths, a few bytes each, never the sound itself.
"""

from __future__ import annotations

import os
import struct
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from capture.matroska_end import matroska_ends
from capture.raw_frames import frame_header, id3_bytes


@dataclass(frozen=True, slots=True)
class FileEnd:
    """What a container says about its end."""

    complete: bool | None
    """None where the format does not say, so that a cut may go unseen."""
    said: str = ""
    """What is amiss."""
    stated_s: float | None = None
    """How much sound the header says there is, in seconds."""
    good_bytes: int | None = None
    """Where an incomplete file is whole up to, if its structure tells."""


_UNKNOWN = FileEnd(None)


def check_end(path: Path, format_name: str) -> FileEnd:
    """Judge the end of a file.

    Args:
        path: the recording.
        format_name: PyAV's name of its container, such as ``wav`` or ``mov,mp4,m4a,3gp,3g2,mj2``.
    """
    for name in format_name.split(","):
        if name in _CHECKS:
            with path.open("rb") as file:
                size = os.fstat(file.fileno()).st_size
                try:
                    return _CHECKS[name](file, size)
                except struct.error:
                    return FileEnd(False, "the file ends inside of a header")
    return _UNKNOWN


def _beyond(what: str, end: int, size: int) -> str:
    return f"the file ends before {what} does; bytes missing: {end - size}"


# --- WAV and RF64 (RIFF: Microsoft/IBM 1991; RF64: EBU Tech 3306) and AIFF ------------------------------


def _wav(file: BinaryIO, size: int) -> FileEnd:
    bytes_per_s = 0
    big_size = None
    at = 12
    while at + 8 <= size:
        file.seek(at)
        name, length = struct.unpack("<4sI", file.read(8))
        if name == b"ds64":
            big_size = struct.unpack("<QQ", file.read(16))[1]
        elif name == b"fmt ":
            bytes_per_s = struct.unpack("<HHII", file.read(12))[3]
        elif name == b"data":
            return _wav_data(at + 8, length, big_size, bytes_per_s, size)
        at += 8 + length + (length & 1)
    return FileEnd(False, "the file ends before its sound begins")


def _wav_data(start: int, length: int, big_size: int | None, bytes_per_s: int, size: int) -> FileEnd:
    if length == 0xFFFFFFFF:
        if big_size is None:
            return _UNKNOWN  # written to a pipe: nobody could go back to fill in the length
        length = big_size
    if length == 0 and size > start + 8:
        return FileEnd(False, "the recorder never closed the file (its header states no length)")
    stated_s = length / bytes_per_s if bytes_per_s else None
    if start + length > size:
        return FileEnd(False, _beyond("its sound", start + length, size), stated_s)
    return FileEnd(True, "", stated_s)


def _aiff(file: BinaryIO, size: int) -> FileEnd:
    file.seek(4)
    (length,) = struct.unpack(">I", file.read(4))
    end = 8 + length
    return FileEnd(False, _beyond("its form", end, size)) if end > size else FileEnd(True)


# --- FLAC (RFC 9639 section 8.2) ------------------------------------------------------------------------


def _flac(file: BinaryIO, size: int) -> FileEnd:
    file.seek(0)
    head = file.read(4 + 4 + 34)
    if head[:4] != b"fLaC" or len(head) < 42:
        return _UNKNOWN
    rate_and_samples = int.from_bytes(head[18:26], "big")
    rate_hz, samples = rate_and_samples >> 44, rate_and_samples & (1 << 36) - 1
    # The length is not in bytes: only the decoder can tell whether all of it is there.
    return FileEnd(None, "", samples / rate_hz if rate_hz and samples else None)


# --- Ogg (RFC 3533 section 6) ---------------------------------------------------------------------------

_OGG_PAGE_MOST = 27 + 255 + 255 * 255
_OGG_LAST_PAGE = 0x04


def _ogg(file: BinaryIO, size: int) -> FileEnd:
    start = max(0, size - 2 * _OGG_PAGE_MOST)
    file.seek(start)
    tail = file.read()
    at = tail.rfind(b"OggS")
    if at < 0:
        return FileEnd(False, "the file ends without a whole page")
    lengths = tail[at + 27 : at + 27 + tail[at + 26]] if at + 27 <= len(tail) else b""
    if not lengths or len(lengths) < tail[at + 26] or at + 27 + len(lengths) + sum(lengths) > len(tail):
        return FileEnd(False, "the file ends in the middle of a page")
    if not tail[at + 5] & _OGG_LAST_PAGE:
        return FileEnd(False, "the file ends without its end mark")
    return FileEnd(True)


# --- MP4 and MOV (ISO/IEC 14496-12 section 4.2) ----------------------------------------------------------


def _mp4(file: BinaryIO, size: int) -> FileEnd:
    at = 0
    fragmented, name = False, b""
    while at < size:
        file.seek(at)
        head = file.read(16)
        if len(head) < 8:
            return FileEnd(False, "the file ends inside of a box header", good_bytes=at)
        length, name = struct.unpack(">I4s", head[:8])
        if length == 1 and len(head) == 16:
            (length,) = struct.unpack(">Q", head[8:16])
        fragmented |= name == b"moof"
        if length == 0:
            return FileEnd(None)  # "to the end of the file", wherever that is
        if length < 8 or not name.isascii() or not name.decode("ascii").isprintable():
            return FileEnd(False, f"damaged at byte {at}: no box begins there", good_bytes=at)
        if at + length > size:
            said = _beyond(f"its box {name.decode('ascii')!r}", at + length, size)
            return FileEnd(False, said, good_bytes=at)
        at += length
    # Fragments follow one another without a count; only the index that may close them says "last".
    return FileEnd(None if fragmented and name != b"mfra" else True)


# --- MP3 (frame count in the first frame: "Xing"/"Info", a common practice of encoders, no standard) ------


def _mp3(file: BinaryIO, size: int) -> FileEnd:
    file.seek(0)
    start = id3_bytes(file.read(10))
    file.seek(start)
    frame = file.read(256)
    header = frame_header(frame)
    at = max(frame.find(b"Xing"), frame.find(b"Info"))
    if header is None or at < 0 or at + 16 > len(frame):
        return _UNKNOWN
    flags, frames, length = struct.unpack(">III", frame[at + 4 : at + 16])
    if flags & 3 != 3:
        return _UNKNOWN
    stated_s = frames * header.samples / header.rate_hz
    if start + length > size:
        return FileEnd(False, _beyond("its sound", start + length, size), stated_s)
    return FileEnd(True, "", stated_s)


def _matroska(file: BinaryIO, size: int) -> FileEnd:
    return FileEnd(*matroska_ends(file, size))


_CHECKS: dict[str, Callable[[BinaryIO, int], FileEnd]] = {
    "wav": _wav,
    "aiff": _aiff,
    "flac": _flac,
    "ogg": _ogg,
    "mov": _mp4,
    "mp3": _mp3,
    "matroska": _matroska,
}
