"""Frames of raw MP3 and ADTS files, which carry neither a container nor a time.

Decoder libraries search for the next thing that looks like a frame and say nothing of what they
skipped, so that everything after a damaged stretch comes too early. Here the frames are walked by
their own lengths; bytes that belong to no frame are counted, and how long they would have sounded
follows from the bytes of the frames before: exactly at a constant bit rate, nearly at a variable one.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

#: kbit/s by index: ISO/IEC 11172-3 table 2.4.2.3 (MPEG-1 layer III), ISO/IEC 13818-3 (MPEG-2 layer III).
_MPEG1_KBITS = (0, 32, 40, 48, 56, 64, 80, 96, 112, 128, 160, 192, 224, 256, 320)
_MPEG2_KBITS = (0, 8, 16, 24, 32, 40, 48, 56, 64, 80, 96, 112, 128, 144, 160)
_MPEG1_RATES_HZ = (44100, 48000, 32000)
#: ISO/IEC 14496-3 table 1.18.
_ADTS_RATES_HZ = (96000, 88200, 64000, 48000, 44100, 32000, 24000, 22050, 16000, 12000, 11025, 8000, 7350)

RAW_CODECS = frozenset({"mp3", "mp3float", "aac"})
HEADER_BYTES = 7
_READ_BYTES = 1 << 16


@dataclass(frozen=True, slots=True)
class FrameHeader:
    """What the header of a frame states."""

    frame_bytes: int
    """With header."""
    samples: int
    rate_hz: int
    kind: bytes
    """The bits that never change within a stream: what garbage hardly ever matches."""


@dataclass(frozen=True, slots=True)
class RawFrame:
    """One whole frame."""

    data: bytes
    start_s: float
    """From the first frame, with what was lost before it."""
    lost_bytes: int
    """Bytes before it that belong to no frame."""


def frame_header(head: bytes) -> FrameHeader | None:
    """Read the header of an MP3 (layer III) or ADTS frame.

    Args:
        head: at least the first seven bytes of a frame.

    Returns:
        What it states, or None where this is no such header.

    Source: ISO/IEC 11172-3 2.4.3.1 (MP3) and ISO/IEC 13818-7 6.2 (ADTS), from memory; the tests check it
    against the frames of an encoder.
    """
    if len(head) < HEADER_BYTES or head[0] != 0xFF or head[1] & 0xE0 != 0xE0:
        return None
    return _adts(head) if head[1] & 0xF6 == 0xF0 else _layer3(head)


def _adts(head: bytes) -> FrameHeader | None:
    rate = head[2] >> 2 & 15
    length = (head[3] & 3) << 11 | head[4] << 3 | head[5] >> 5
    if length <= HEADER_BYTES or rate >= len(_ADTS_RATES_HZ):
        return None
    kind = bytes((head[1], head[2] & 0xFD, head[3] & 0xC0))
    return FrameHeader(length, 1024 * ((head[6] & 3) + 1), _ADTS_RATES_HZ[rate], kind)


def _layer3(head: bytes) -> FrameHeader | None:
    version, layer = head[1] >> 3 & 3, head[1] >> 1 & 3
    bit_rate, rate = head[2] >> 4, head[2] >> 2 & 3
    if version == 1 or layer != 1 or rate == 3 or not 0 < bit_rate < 15:
        return None
    first = version == 3
    rate_hz = _MPEG1_RATES_HZ[rate] // {3: 1, 2: 2, 0: 4}[version]
    kbits = (_MPEG1_KBITS if first else _MPEG2_KBITS)[bit_rate]
    length = (144 if first else 72) * kbits * 1000 // rate_hz + (head[2] >> 1 & 1)
    return FrameHeader(length, 1152 if first else 576, rate_hz, bytes((head[1] & 0xFE, head[2] & 0x0C)))


def id3_bytes(head: bytes) -> int:
    """Return the length of the ID3v2 tag that a file begins with, 0 for none (ID3v2.4.0 section 3.1)."""
    if head[:3] != b"ID3" or len(head) < 10:
        return 0
    # 28 bits, seven a byte; a footer is another ten bytes.
    length = head[6] << 21 | head[7] << 14 | head[8] << 7 | head[9]
    return 10 + length + (10 if head[5] & 0x10 else 0)


class RawFrameWalk:
    """One pass over the frames of an open file.

    Args:
        file: at any position, binary.
    """

    def __init__(self, file: BinaryIO) -> None:
        self.lost_at_end = 0
        """Bytes at the end that make no whole frame and no tag."""
        self._file = file
        self._buffer = b""
        self._at = 0
        self._ended = False
        self._kind: bytes | None = None
        self._in_step = False

    def frames(self) -> Iterator[RawFrame]:
        """Yield the frames that hold sound, in order (the encoder's table of contents holds none)."""
        self._file.seek(0)
        self._file.seek(id3_bytes(self._file.read(10)))
        lost = good_bytes = good_frames = 0
        start_s = 0.0
        padding = True
        while self._fill(HEADER_BYTES):
            header = self._frame_here()
            if header is None:
                if self._tag_here():
                    break
                self._in_step = False
                passed = self._to_next_sync()
                lost += len(passed)
                padding = padding and not passed.strip(b"\0")
                continue
            self._kind, self._in_step = header.kind, True
            data = self._buffer[self._at : self._at + header.frame_bytes]
            self._at += header.frame_bytes
            frame_s = header.samples / header.rate_hz
            if lost and good_frames:
                start_s += frame_s * round(lost * good_frames / good_bytes)
            good_bytes += len(data)
            good_frames += 1
            if good_frames == 1 and any(mark in data[:200] for mark in (b"Xing", b"Info", b"VBRI")):
                continue
            yield RawFrame(data, start_s, lost)
            start_s += frame_s
            lost, padding = 0, True
        rest = b"" if self._tag_here() else self._buffer[self._at :]
        self.lost_at_end = 0 if padding and not rest.strip(b"\0") else lost + len(rest)

    def _frame_here(self) -> FrameHeader | None:
        header = frame_header(self._buffer[self._at : self._at + HEADER_BYTES])
        if header is None or (self._kind is not None and header.kind != self._kind):
            return None
        self._fill(header.frame_bytes + HEADER_BYTES)
        behind = self._buffer[self._at + header.frame_bytes : self._at + header.frame_bytes + HEADER_BYTES]
        if self._at + header.frame_bytes > len(self._buffer):
            return None
        # One header alone is found in any noise: the one behind it tells. Once frames follow one another
        # the last before damage is kept too, and so is the last of all.
        following = frame_header(behind)
        in_step = self._in_step or (len(behind) < HEADER_BYTES and self._kind is not None)
        return header if in_step or (following is not None and following.kind == header.kind) else None

    def _to_next_sync(self) -> bytes:
        found = self._buffer.find(b"\xff", self._at + 1)
        start, self._at = self._at, found if found >= 0 else len(self._buffer)
        return self._buffer[start : self._at]

    def _tag_here(self) -> bool:
        rest = self._buffer[self._at : self._at + 8]
        return rest[:3] == b"TAG" or rest == b"APETAGEX"

    def _fill(self, count: int) -> bool:
        while len(self._buffer) - self._at < count and not self._ended:
            more = self._file.read(_READ_BYTES)
            self._ended = not more
            self._buffer = self._buffer[self._at :] + more
            self._at = 0
        return len(self._buffer) - self._at >= count
