"""Single pictures: any format in, upright BGR out, or one clear line."""

from __future__ import annotations

import base64
import hashlib
import struct
import tracemalloc
import zlib
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import cv2
import numpy as np
import pytest

from capture import pictures
from capture.exif import seconds_between, taken_at
from capture.picture_size import picture_size
from capture.pictures import read_picture, read_picture_file, write_thumbnail
from shared.errors import OutputUnwritable, PictureError, PictureNotFound, PictureUnreadable
from tests.capture.pictures import draw_part

#: 40 x 30, red, four inks; written by ImageMagick 7.
CMYK_JPEG = base64.b64decode(
    "/9j/7gAOQWRvYmUAZAAAAAAC/9sAQwACAQEBAQECAQEBAgICAgIEAwICAgIFBAQDBAYFBgYGBQYGBgcJCAYHCQcGBggLCAkKCgoK"
    "CgYICwwLCgwJCgoK/9sAQwECAgICAgIFAwMFCgcGBwoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoKCgoK"
    "CgoKCgoK/8AAFAgAHgAoBAERAAIRAQMRAQQRAP/EABYAAQEBAAAAAAAAAAAAAAAAAAAICf/EABQQAQAAAAAAAAAAAAAAAAAAAAD/"
    "xAAWAQEBAQAAAAAAAAAAAAAAAAAACAr/xAAUEQEAAAAAAAAAAAAAAAAAAAAA/9oADgQBAAIRAxEEAAA/ALMVYz/t/AAAAAAAAAAA"
    "AAAAAAAAAAAAAAB//9k="
)
WRITABLE = [".jpg", ".png", ".webp", ".tiff", ".bmp", ".gif", ".avif"]


def quarters(height: int = 60, width: int = 80) -> np.ndarray:
    """Blue above left, green above right, red below left, white below right."""
    picture = np.full((height, width, 3), 255, np.uint8)
    picture[: height // 2, : width // 2] = (255, 0, 0)
    picture[: height // 2, width // 2 :] = (0, 255, 0)
    picture[height // 2 :, : width // 2] = (0, 0, 255)
    return picture


def corners(picture: np.ndarray) -> list[str]:
    """Colour names of the four corners: above left, above right, below left, below right."""
    names = {(1, 0, 0): "blue", (0, 1, 0): "green", (0, 0, 1): "red", (1, 1, 1): "white"}
    points = [(5, 5), (5, -5), (-5, 5), (-5, -5)]
    return [names[tuple(int(value > 127) for value in picture[point])] for point in points]  # type: ignore[index]


def packed(ending: str, picture: np.ndarray) -> bytes:
    return cv2.imencode(ending, picture)[1].tobytes()


def write(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("ending", WRITABLE)
def test_every_format_is_read_whatever_its_extension(tmp_path: Path, ending: str) -> None:
    path = write(tmp_path / "seat.pcx", packed(ending, quarters()))
    picture = read_picture(path)
    assert (picture.shape, picture.dtype) == ((60, 80, 3), np.uint8)
    assert corners(picture) == ["blue", "green", "red", "white"]


@pytest.mark.parametrize("ending", WRITABLE)
def test_size_is_read_from_the_header(ending: str) -> None:
    """Outside check: the size that OpenCV wrote."""
    assert picture_size(packed(ending, quarters(62, 84))) == (84, 62)


@pytest.mark.parametrize("quality", [101, 50], ids=["lossless", "lossy"])
def test_size_of_both_kinds_of_webp(quality: int) -> None:
    data = cv2.imencode(".webp", quarters(62, 84), [cv2.IMWRITE_WEBP_QUALITY, quality])[1].tobytes()
    assert picture_size(data) == (84, 62)


@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
@pytest.mark.parametrize("ending", [".png", ".tiff"])
def test_grey_and_sixteen_bits_keep_their_levels(tmp_path: Path, ending: str, depth: type) -> None:
    ramp = np.repeat(np.linspace(0, np.iinfo(depth).max, 80).astype(depth)[None], 60, axis=0)
    picture = read_picture(write(tmp_path / "grey", packed(ending, ramp)))
    expected = np.linspace(0, 255, 80)
    assert np.abs(picture[30].astype(float) - expected[:, None]).max() <= 2


@pytest.mark.parametrize("ending", [".png", ".webp"])
def test_what_is_see_through_becomes_white(tmp_path: Path, ending: str) -> None:
    picture = np.dstack([quarters(), np.full((60, 80), 255, np.uint8)])
    picture[:30, :40] = (0, 0, 0, 0)
    options = [cv2.IMWRITE_WEBP_QUALITY, 101] if ending == ".webp" else []
    data = cv2.imencode(ending, picture, options)[1].tobytes()
    assert corners(read_picture(write(tmp_path / "a", data))) == ["white", "green", "red", "white"]


@pytest.mark.parametrize("ending", WRITABLE)
def test_a_picture_of_one_pixel_is_read(tmp_path: Path, ending: str) -> None:
    one = np.full((1, 1, 3), (200, 90, 40), np.uint8)
    assert read_picture(write(tmp_path / "one", packed(ending, one))).shape == (1, 1, 3)


@pytest.mark.parametrize("ending", [".gif", ".webp", ".png"])
def test_of_an_animation_the_first_picture_counts(tmp_path: Path, ending: str) -> None:
    moving = cv2.Animation()
    moving.frames = [quarters(), np.zeros((60, 80, 3), np.uint8), np.full((60, 80, 3), 99, np.uint8)]
    moving.durations = [100, 100, 100]
    path = tmp_path / f"moving{ending}"
    assert cv2.imwriteanimation(str(path), moving)
    assert corners(read_picture(path)) == ["blue", "green", "red", "white"]


def test_four_inks_become_three_colours(tmp_path: Path) -> None:
    picture = read_picture(write(tmp_path / "cmyk.jpg", CMYK_JPEG))
    assert picture.shape == (30, 40, 3)
    assert np.abs(picture.astype(int) - (0, 0, 255)).max() < 12


def exif_block(tags: dict[int, bytes], orientation: int = 1, order: str = "<") -> bytes:
    """An Exif block as a camera writes it: orientation in the first directory, texts in the second."""
    first = 8
    second = first + 2 + 2 * 12 + 4
    texts_at = second + 2 + 12 * len(tags) + 4
    block = (b"II*\0" if order == "<" else b"MM\0*") + struct.pack(order + "I", first)
    block += struct.pack(order + "H", 2)
    block += struct.pack(order + "HHIHH", 0x0112, 3, 1, orientation, 0)
    block += struct.pack(order + "HHII", 0x8769, 4, 1, second) + bytes(4)
    block += struct.pack(order + "H", len(tags))
    texts = b""
    for tag, text in sorted(tags.items()):
        inside = len(text) <= 4
        value = text.ljust(4, b"\0") if inside else struct.pack(order + "I", texts_at + len(texts))
        block += struct.pack(order + "HHI", tag, 2, len(text)) + value
        texts += b"" if inside else text
    return block + bytes(4) + texts


def jpeg_with(exif: bytes, picture: np.ndarray) -> bytes:
    segment = b"Exif\0\0" + exif
    return b"\xff\xd8\xff\xe1" + struct.pack(">H", len(segment) + 2) + segment + packed(".jpg", picture)[2:]


#: Exif 2.32 section 4.6.5.1.1: where row 0 and column 0 of the stored picture are in the scene.
UPRIGHT = {
    1: lambda p: p, 2: lambda p: p[:, ::-1], 3: lambda p: p[::-1, ::-1], 4: lambda p: p[::-1],
    5: lambda p: p.transpose(1, 0, 2), 6: lambda p: p.transpose(1, 0, 2)[:, ::-1],
    7: lambda p: p.transpose(1, 0, 2)[::-1, ::-1], 8: lambda p: p.transpose(1, 0, 2)[::-1],
}  # fmt: skip


@pytest.mark.parametrize("orientation", UPRIGHT)
def test_pictures_are_turned_upright(tmp_path: Path, orientation: int) -> None:
    path = write(tmp_path / "a.jpg", jpeg_with(exif_block({}, orientation), quarters()))
    expected = UPRIGHT[orientation](quarters())
    picture = read_picture(path)
    assert picture.shape == expected.shape
    assert corners(picture) == corners(expected)
    assert picture.flags["C_CONTIGUOUS"]


TAKEN = b"2026:03:04 10:20:30\0"


@pytest.mark.parametrize("order", ["<", ">"])
@pytest.mark.parametrize(
    ("tags", "expected"),
    [
        ({0x9003: TAKEN}, datetime(2026, 3, 4, 10, 20, 30)),
        ({0x9003: TAKEN, 0x9291: b"25\0"}, datetime(2026, 3, 4, 10, 20, 30, 250000)),
        (
            {0x9003: TAKEN, 0x9011: b"+02:00\0"},
            datetime(2026, 3, 4, 10, 20, 30, tzinfo=timezone(timedelta(hours=2))),
        ),
        ({0x9003: TAKEN, 0x9011: b"-03:30\0"}, datetime(2026, 3, 4, 13, 50, 30, tzinfo=UTC)),
        ({0x9003: b"0000:00:00 00:00:00\0"}, None),
        ({0x9003: b"yesterday, about ten\0"}, None),
        ({}, None),
    ],
)
def test_the_camera_tells_when_it_took_the_picture(
    tmp_path: Path, order: str, tags: dict[int, bytes], expected: datetime | None
) -> None:
    block = exif_block(tags, order=order)
    assert taken_at(block) == expected
    assert read_picture_file(write(tmp_path / "a.jpg", jpeg_with(block, quarters()))).taken_at == expected


def test_exif_of_a_reference_library_is_read(tmp_path: Path) -> None:
    """Outside check: a JPEG that Pillow wrote."""
    image = pytest.importorskip("PIL.Image", reason="needs Pillow")
    exif = image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8769)[0x9003] = "2026:03:04 10:20:30"
    path = tmp_path / "pillow.jpg"
    image.fromarray(quarters()[:, :, ::-1].copy()).save(path, exif=exif)
    read = read_picture_file(path)
    assert read.taken_at == datetime(2026, 3, 4, 10, 20, 30)
    assert read.picture.shape == (80, 60, 3)


def test_a_damaged_exif_block_is_no_time() -> None:
    block = exif_block({0x9003: TAKEN, 0x9011: b"+02:00\0"})
    for at in range(len(block)):
        assert taken_at(block[:at]) is None
        flipped = bytearray(block)
        flipped[at] ^= 0xFF
        moment = taken_at(bytes(flipped))
        assert moment is None or moment.replace(tzinfo=None) == datetime(2026, 3, 4, 10, 20, 30)


@pytest.mark.parametrize(
    ("start", "moment", "expected"),
    [
        (datetime(2026, 1, 1, 8), datetime(2026, 1, 1, 8, 1), 60.0),
        (datetime(2026, 1, 1, 8, tzinfo=UTC), datetime(2026, 1, 1, 8, 1), 60.0),
        (datetime(2026, 1, 1, 8), datetime(2026, 1, 1, 8, 1, tzinfo=UTC), 60.0),
        (
            datetime(2026, 1, 1, 8, tzinfo=UTC),
            datetime(2026, 1, 1, 10, 1, tzinfo=timezone(timedelta(hours=2))),
            60.0,
        ),
    ],
)
def test_time_since_the_start_of_the_recording(start: datetime, moment: datetime, expected: float) -> None:
    assert seconds_between(start, moment) == expected


@pytest.mark.parametrize("ending", WRITABLE)
@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
def test_a_cut_picture_is_refused(tmp_path: Path, ending: str, share: float) -> None:
    data = packed(ending, draw_part(width=320, height=240))
    path = write(tmp_path / f"cut{ending}", data[: int(len(data) * share)])
    with pytest.raises(PictureUnreadable, match=r"cut off|damaged"):
        read_picture(path)


@pytest.mark.parametrize("ending", WRITABLE)
def test_damage_anywhere_gives_a_picture_or_one_clear_line(tmp_path: Path, ending: str) -> None:
    data = packed(ending, draw_part(width=160, height=120))
    random = np.random.default_rng(7)
    for _ in range(25):
        damaged = bytearray(data)
        for at in random.integers(2, len(data), 4):
            damaged[int(at)] = int(random.integers(256))
        try:
            assert read_picture(write(tmp_path / "d", bytes(damaged))).dtype == np.uint8
        except PictureError as error:
            line = str(error)
        else:
            line = "read"
        assert "\n" not in line


@pytest.mark.parametrize(
    ("name", "data", "says"),
    [
        ("none.jpg", b"", "the file is empty"),
        ("notes.jpg", b"vane one thirty one thou\n", "this is text"),
        ("drawing.png", b"%PDF-1.7\n1 0 obj", "this is a PDF document"),
        ("talk.jpg", b"RIFF\0\0\0\0WAVEfmt ", "this is a WAV recording"),
        ("phone.jpg", b"\0\0\0\x1cftypheic\0\0\0\0mif1heicmiaf", "export it as JPEG"),
        ("clip.jpg", b"\0\0\0\x1cftypisom\0\0\0\0isomiso2mp41", "this is an MP4 or MOV recording"),
        ("odd.jpg", bytes(range(200, 256)) * 9, "no picture that we know"),
        ("head.jpg", b"\xff\xd8\xff\xe0\0\x10JFIF", "its header is damaged"),
        ("head.png", b"\x89PNG\r\n\x1a\n", "its header is damaged"),
    ],
)
def test_what_is_no_picture_is_called_by_its_name(tmp_path: Path, name: str, data: bytes, says: str) -> None:
    path = write(tmp_path / name, data)
    with pytest.raises(PictureUnreadable) as caught:
        read_picture(path)
    assert says in str(caught.value)
    assert str(caught.value).startswith(str(path))


def test_a_missing_picture_and_a_folder_are_told_apart(tmp_path: Path) -> None:
    with pytest.raises(PictureNotFound, match="no such picture"):
        read_picture(tmp_path / "gone.jpg")
    with pytest.raises(PictureUnreadable, match="this is a folder"):
        read_picture(tmp_path)


def huge_png(width: int, height: int) -> bytes:
    """A PNG of a few kilobytes that would unpack to gigabytes."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", head)
        + chunk(b"IDAT", zlib.compress(bytes(10_000_000)))
        + chunk(b"IEND", b"")
    )


def test_a_picture_that_would_unpack_to_gigabytes_is_not_unpacked(tmp_path: Path) -> None:
    path = write(tmp_path / "bomb.png", huge_png(40000, 40000))
    tracemalloc.start()
    try:
        with pytest.raises(PictureUnreadable, match="40000 x 40000 pixels; expected at most 52 megapixels"):
            read_picture(path)
        assert tracemalloc.get_traced_memory()[1] < 5_000_000
    finally:
        tracemalloc.stop()


def test_a_file_of_enormous_size_is_not_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(pictures, "MOST_BYTES", 100)
    with pytest.raises(PictureUnreadable, match="the file has"):
        read_picture(write(tmp_path / "a.png", packed(".png", draw_part())))


def test_hash_is_that_of_the_bytes(tmp_path: Path) -> None:
    data = packed(".png", quarters())
    assert read_picture_file(write(tmp_path / "a.png", data)).sha256 == hashlib.sha256(data).hexdigest()


@pytest.mark.parametrize(
    ("shape", "expected"),
    [((960, 1280), (240, 320)), ((1280, 960), (320, 240)), ((100, 50), (100, 50)), ((4000, 2), (320, 1))],
)
def test_thumbnails_fit_320_pixels(tmp_path: Path, shape: tuple[int, int], expected: tuple[int, int]) -> None:
    path = tmp_path / "new" / "folder" / "seat.jpg"
    write_thumbnail(np.full((*shape, 3), 90, np.uint8), path)
    assert read_picture(path).shape[:2] == expected
    assert [found.name for found in path.parent.iterdir()] == ["seat.jpg"]


def test_a_thumbnail_that_cannot_be_written_is_named(tmp_path: Path) -> None:
    write(tmp_path / "file", b"x")
    with pytest.raises(OutputUnwritable, match="thumbnail cannot be written"):
        write_thumbnail(quarters(), tmp_path / "file" / "seat.jpg")
