"""When a picture was taken, as its camera noted it (Exif 2.32, JEITA CP-3451E; layout of TIFF 6.0)."""

from __future__ import annotations

import struct
from datetime import UTC, datetime, timedelta, timezone

_EXIF_IFD = 0x8769
_TAKEN = 0x9003
_TAKEN_OFFSET = 0x9011
_TAKEN_SUBSECOND = 0x9291
_ASCII = 2
#: A directory with more entries than this is damage, not a camera's.
_MOST_ENTRIES = 500


def taken_at(exif: bytes) -> datetime | None:
    """Return when the picture was taken; without a time zone where the camera noted none.

    Args:
        exif: an Exif block, with or without its ``Exif`` mark, or the beginning of a TIFF file.

    Returns:
        None where there is no time or the block is damaged: a photo is as good without one.
    """
    block = exif.removeprefix(b"Exif\0\0")
    try:
        order = {b"II": "<", b"MM": ">"}.get(block[:2])
        if order is None:
            return None
        (first,) = struct.unpack_from(order + "I", block, 4)
        main = _directory(block, order, first)
        (details,) = struct.unpack(order + "I", main[_EXIF_IFD][2])
        noted = _directory(block, order, details)
        moment = datetime.strptime(_text(block, order, noted[_TAKEN]), "%Y:%m:%d %H:%M:%S")
        if _TAKEN_SUBSECOND in noted:
            moment += timedelta(seconds=float("0." + _text(block, order, noted[_TAKEN_SUBSECOND]).strip()))
        return _in_zone(moment, _text(block, order, noted[_TAKEN_OFFSET]) if _TAKEN_OFFSET in noted else "")
    except (struct.error, KeyError, ValueError, OverflowError):
        return None


def seconds_between(start: datetime, moment: datetime) -> float:
    """Return seconds from ``start`` to ``moment``; a time without zone is taken in the other's zone."""
    if start.tzinfo is None and moment.tzinfo is not None:
        moment = moment.replace(tzinfo=None)
    elif moment.tzinfo is None and start.tzinfo is not None:
        moment = moment.replace(tzinfo=start.tzinfo)
    return (moment - start).total_seconds()


def _directory(block: bytes, order: str, at: int) -> dict[int, tuple[int, int, bytes]]:
    """Return the entries of a directory by tag: type, count and the four bytes of value or offset."""
    (count,) = struct.unpack_from(order + "H", block, at)
    if count > _MOST_ENTRIES:
        raise ValueError("no directory")
    found = {}
    for index in range(count):
        tag, kind, values, value = struct.unpack_from(order + "HHI4s", block, at + 2 + 12 * index)
        found[tag] = (kind, values, value)
    return found


def _text(block: bytes, order: str, entry: tuple[int, int, bytes]) -> str:
    kind, count, value = entry
    if kind != _ASCII or count > _MOST_ENTRIES:
        raise ValueError("no text")
    if count > 4:
        (at,) = struct.unpack(order + "I", value)
        value = block[at : at + count]
    if len(value) < count:
        raise ValueError("cut off")
    return value[:count].split(b"\0")[0].decode("ascii")


def _in_zone(moment: datetime, offset: str) -> datetime:
    """Give the moment its zone, noted as ``+02:00``."""
    if offset == "Z":
        return moment.replace(tzinfo=UTC)
    if len(offset) != 6 or offset[0] not in "+-" or offset[3] != ":":
        return moment
    east = timedelta(hours=int(offset[1:3]), minutes=int(offset[4:6]))
    return moment.replace(tzinfo=timezone(east if offset[0] == "+" else -east))
