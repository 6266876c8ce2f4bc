"""How large a picture is, read from its header before anything of it is unpacked.

A file of a few kilobytes can unpack to gigabytes. What states no size here is not decoded at all.
"""

from __future__ import annotations

import struct

#: JPEG frame headers, ITU-T T.81 table B.1: SOF0 to SOF15 without DHT, JPG and DAC.
_JPEG_FRAMES = frozenset(range(0xC0, 0xD0)) - {0xC4, 0xC8, 0xCC}
_JPEG_ALONE = frozenset({0x01, *range(0xD0, 0xD9)})


def picture_size(data: bytes) -> tuple[int, int] | None:
    """Return width and height in pixels as the header states them, None where it states none.

    Args:
        data: a JPEG, PNG, WebP, GIF, BMP, TIFF or AVIF file.
    """
    try:
        if data[:2] == b"\xff\xd8":
            return _jpeg(data)
        if data[:8] == b"\x89PNG\r\n\x1a\n":
            return _pair(">II", data, 16)
        if data[8:12] == b"WEBP":
            return _webp(data)
        if data[:4] == b"GIF8":
            return _pair("<HH", data, 6)
        if data[:2] == b"BM":
            width, height = _pair("<ii", data, 18)
            return abs(width), abs(height)
        if data[:4] in (b"II*\0", b"MM\0*"):
            return _tiff(data)
        return _avif(data) if data[4:8] == b"ftyp" else None
    except struct.error:
        return None


def _pair(layout: str, data: bytes, at: int) -> tuple[int, int]:
    width, height = struct.unpack_from(layout, data, at)
    return width, height


def _jpeg(data: bytes) -> tuple[int, int] | None:
    at = 2
    while at + 4 <= len(data):
        if data[at] != 0xFF:
            return None
        marker = data[at + 1]
        if marker == 0xFF or marker in _JPEG_ALONE:
            at += 1 if marker == 0xFF else 2
            continue
        if marker in _JPEG_FRAMES:
            height, width = _pair(">HH", data, at + 5)
            return width, height
        at += 2 + int.from_bytes(data[at + 2 : at + 4], "big")
    return None


def _webp(data: bytes) -> tuple[int, int] | None:
    """RFC 9649: the first chunk is lossy (VP8), lossless (VP8L) or says what follows (VP8X)."""
    kind = data[12:16]
    if kind == b"VP8X":
        return 1 + int.from_bytes(data[24:27], "little"), 1 + int.from_bytes(data[27:30], "little")
    if kind == b"VP8L":
        (bits,) = struct.unpack_from("<I", data, 21)
        return 1 + (bits & 0x3FFF), 1 + (bits >> 14 & 0x3FFF)
    if kind == b"VP8 ":
        width, height = _pair("<HH", data, 26)
        return width & 0x3FFF, height & 0x3FFF
    return None


def _tiff(data: bytes) -> tuple[int, int] | None:
    """TIFF 6.0 section 8: ImageWidth is 256, ImageLength 257, SHORT or LONG."""
    order = "<" if data[:2] == b"II" else ">"
    (at,) = struct.unpack_from(order + "I", data, 4)
    (count,) = struct.unpack_from(order + "H", data, at)
    found: dict[int, int] = {}
    for index in range(count):
        tag, kind = struct.unpack_from(order + "HH", data, at + 2 + 12 * index)
        if tag in (256, 257) and kind in (3, 4):
            (found[tag],) = struct.unpack_from(
                order + ("H" if kind == 3 else "I"), data, at + 10 + 12 * index
            )
    return (found[256], found[257]) if len(found) == 2 else None


def _avif(data: bytes) -> tuple[int, int] | None:
    """ISO/IEC 23008-12 section 6.5.3: every ``ispe`` box; the largest counts."""
    sizes = []
    at = data.find(b"ispe")
    while at >= 0:
        sizes.append(_pair(">II", data, at + 8))
        at = data.find(b"ispe", at + 4)
    return max(sizes, key=lambda size: size[0] * size[1]) if sizes else None
