"""Reading and writing single pictures: bounded, upright, eight bits a colour, blue, green, red."""

from __future__ import annotations

import hashlib
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.exif import taken_at
from capture.file_kinds import HEAD_BYTES, file_kind
from capture.picture_quality import Picture
from capture.picture_size import picture_size
from shared.errors import OutputUnwritable, PictureNotFound, PictureUnreadable

#: Larger pictures are not decoded: one of 50 megapixels, as phones take them, fits.
MOST_PIXELS = 52_000_000
#: Nor are larger files read.
MOST_BYTES = 200_000_000
THUMBNAIL_PX = 320
EXPECTED = "a JPEG, PNG, WebP, TIFF, BMP or GIF picture"

# What the library has to say goes into our one line; it would also print it.
cv2.utils.logging.setLogLevel(cv2.utils.logging.LOG_LEVEL_SILENT)


@dataclass(frozen=True, slots=True)
class ReadPicture:
    """A picture and what its file says about it."""

    picture: Picture
    """Shape = (height, width, 3), uint8, blue, green, red, upright."""
    taken_at: datetime | None
    """When the camera took it; without a time zone where it noted none."""
    sha256: str
    """Of the file's bytes, hexadecimal."""


def read_picture(path: Path | str) -> Picture:
    """Read a picture, upright, whatever its extension says.

    Args:
        path: JPEG, PNG, WebP, TIFF, BMP, GIF or AVIF; grey, sixteen bits, CMYK and see-through ones too
            (what is see-through becomes white).

    Returns:
        shape = (height, width, 3), uint8, blue, green, red.

    Raises:
        PictureNotFound: no such file.
        PictureUnreadable: no picture, cut off, damaged, or too large.
    """
    return read_picture_file(path).picture


def read_picture_file(path: Path | str) -> ReadPicture:
    """Read a picture with its time and hash; errors as :func:`read_picture`."""
    return read_picture_bytes(_bytes_of(Path(path)), str(path))


def read_picture_bytes(data: bytes, where: str) -> ReadPicture:
    """Read a picture that came in as bytes; errors as :func:`read_picture`.

    Args:
        data: of its file.
        where: what errors name it.
    """
    if not data:
        raise PictureUnreadable("the file is empty", where=where, expected=EXPECTED, remedy="copy it again")
    _check_kind(where, data)
    _check_size(where, data)
    picture, exif = _decode(where, data)
    if exif is None and data[:2] in (b"II", b"MM"):
        exif = data
    taken = taken_at(exif) if exif is not None else None
    return ReadPicture(picture, taken, hashlib.sha256(data).hexdigest())


def write_thumbnail(picture: Picture, path: Path | str) -> None:
    """Write a JPEG of at most 320 px on its longer side.

    The file appears whole or not at all.

    Raises:
        OutputUnwritable: it cannot be written.
    """
    path = Path(path)
    height, width = picture.shape[:2]
    scale = min(1.0, THUMBNAIL_PX / max(height, width))
    size = max(1, round(width * scale)), max(1, round(height * scale))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    _, packed = cv2.imencode(".jpg", small, [cv2.IMWRITE_JPEG_QUALITY, 85])
    unborn = path.with_name(path.name + ".new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        unborn.write_bytes(packed.tobytes())
        unborn.replace(path)
    except OSError as exc:
        with suppress(OSError):
            unborn.unlink(missing_ok=True)
        raise OutputUnwritable(f"the thumbnail cannot be written ({exc.strerror})", where=str(path)) from exc


def _bytes_of(path: Path) -> bytes:
    where = str(path)
    try:
        if path.is_dir():
            raise PictureUnreadable("this is a folder", where=where, expected=EXPECTED)
        size = path.stat().st_size
        if size > MOST_BYTES:
            raise PictureUnreadable(
                f"the file has {size / 1e6:.0f} MB",
                where=where,
                expected=f"at most {MOST_BYTES / 1e6:.0f} MB",
            )
        data = path.read_bytes()
    except FileNotFoundError as exc:
        raise PictureNotFound("no such picture", where=where, remedy="check the name") from exc
    except OSError as exc:
        raise PictureUnreadable(
            f"the file cannot be read ({exc.strerror})", where=where, remedy="check its permissions"
        ) from exc
    return data


def _check_kind(where: str, data: bytes) -> None:
    kind = file_kind(data[:HEAD_BYTES])
    if kind is None:
        raise PictureUnreadable("this is no picture that we know", where=where, expected=EXPECTED)
    if kind.family != "picture":
        raise PictureUnreadable(
            f"this is {kind.name}, whatever its name says", where=where, expected=EXPECTED
        )
    if "HEIC" in kind.name:
        raise PictureUnreadable(
            "this is a HEIC picture, which cannot be decoded here",
            where=where,
            expected=EXPECTED,
            remedy="export it as JPEG, or set the phone's camera to its most compatible format",
        )


def _check_size(where: str, data: bytes) -> None:
    size = picture_size(data)
    if size is None or not size[0] or not size[1]:
        raise PictureUnreadable("its header is damaged", where=where, remedy="copy it again from the camera")
    width, height = size
    if width * height > MOST_PIXELS:
        raise PictureUnreadable(
            f"it has {width} x {height} pixels",
            where=where,
            expected=f"at most {MOST_PIXELS / 1e6:.0f} megapixels",
            remedy="make it smaller",
        )


def _decode(where: str, data: bytes) -> tuple[Picture, bytes | None]:
    packed = np.frombuffer(data, np.uint8)
    flags = cv2.IMREAD_UNCHANGED if _may_be_see_through(data) else cv2.IMREAD_COLOR
    try:
        found, kinds, blocks = cv2.imdecodeWithMetadata(packed, flags)
        picture = _in_three_colours(found, packed)
    except cv2.error as exc:
        raise PictureUnreadable("it is damaged", where=where, remedy="copy it again from the camera") from exc
    if picture is None or picture.size == 0:
        raise PictureUnreadable(
            "it is cut off or damaged", where=where, remedy="copy it again from the camera"
        )
    exif = next((bytes(b) for k, b in zip(kinds, blocks, strict=False) if k == cv2.IMAGE_METADATA_EXIF), None)
    return np.ascontiguousarray(picture, np.uint8), exif


def _may_be_see_through(data: bytes) -> bool:
    """Tell PNG with alpha (colour types 4 and 6) and WebP that announces it, lossless or extended."""
    if data[:4] == b"\x89PNG":
        return data[25:26] in (b"\x04", b"\x06")
    announced = {b"VP8L": data[24:25], b"VP8X": data[20:21]}.get(data[12:16], b"")
    return data[8:12] == b"WEBP" and announced != b"" and bool(announced[0] & 0x10)


def _in_three_colours(picture: Any, packed: NDArray[np.uint8]) -> Any:
    if picture is None or (picture.ndim == 3 and picture.shape[2] == 3 and picture.dtype == np.uint8):
        return picture
    if picture.ndim == 3 and picture.shape[2] == 4 and picture.dtype == np.uint8:
        return _on_white(picture)
    return cv2.imdecode(packed, cv2.IMREAD_COLOR)


def _on_white(picture: NDArray[np.uint8]) -> Picture:
    alpha = picture[:, :, 3:].astype(np.float32) / 255
    blended: Picture = np.rint(picture[:, :, :3] * alpha + 255 * (1 - alpha)).astype(np.uint8)
    return blended
