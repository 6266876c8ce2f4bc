"""The sharpest frame of the seconds after a picture was asked for."""

from __future__ import annotations

import struct
import tracemalloc
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np
import pytest

from capture.sound import read_sound
from capture.video import has_video, sharpest_frame
from shared.errors import PictureNotFound, PictureUnreadable
from tests.capture.pictures import draw_part, moved, out_of_focus
from tests.capture.sound_files import beeps, write_recording

RATE = 10
VIDEO = Path(__file__).parents[2] / "fixtures" / "recordings" / "wash-water-end-suction-video.mp4"


def frames(count: int, sharp: set[int]) -> list[np.ndarray]:
    """A part out of focus or moving, but for a few frames."""
    part = draw_part(1, 640, 480)
    spoilt = [out_of_focus(part, 4), moved(part, 21)]
    return [part if index in sharp else spoilt[index % 2] for index in range(count)]


def write_video(
    path: Path,
    pictures: list[np.ndarray],
    *,
    codec: str = "libx264",
    every: int = 12,
    first_s: float = 0.0,
    options: dict[str, str] | None = None,
) -> Path:
    with av.open(str(path), "w", options=options or {}) as container:
        stream = container.add_stream(codec, rate=RATE)
        height, width = pictures[0].shape[:2]
        stream.width, stream.height, stream.pix_fmt = width, height, "yuv420p"
        stream.codec_context.gop_size = every
        stream.time_base = Fraction(1, 1000)
        stream.options = (
            {"preset": "ultrafast"} if codec == "libx264" else {"deadline": "realtime", "cpu-used": "8"}
        )
        for index, picture in enumerate(pictures):
            frame = av.VideoFrame.from_ndarray(picture, format="bgr24").reformat(format="yuv420p")
            frame.pts, frame.time_base = round(1000 * (first_s + index / RATE)), Fraction(1, 1000)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


@pytest.fixture(scope="module")
def video(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Eight seconds, sharp at 0.3, 2.5, 4.1 and 7.9 s."""
    return write_video(tmp_path_factory.mktemp("video") / "v.mp4", frames(80, {3, 25, 41, 79}))


@pytest.mark.parametrize(
    ("start_s", "seconds", "expected_s"),
    [(0.0, 3.0, {0.3, 2.5}), (0.5, 3.0, {2.5}), (2.55, 2.0, {4.1}), (4.2, 3.75, {7.9}), (2.5, 0.1, {2.5})],
)
def test_the_sharpest_frame_of_the_stretch_is_found(
    video: Path, start_s: float, seconds: float, expected_s: set[float]
) -> None:
    found = sharpest_frame(video, start_s, seconds)
    assert round(found.time_s, 3) in expected_s
    assert found.quality.usable
    assert found.picture.shape == (480, 640, 3)
    assert cv2.PSNR(found.picture, draw_part(1, 640, 480)) > 25


def test_where_no_frame_is_sharp_the_best_is_given_and_judged(video: Path) -> None:
    found = sharpest_frame(video, 5.0, 1.5)
    assert 5.0 <= found.time_s < 6.5
    assert not found.quality.usable
    assert found.quality.reasons[0] in {"out_of_focus", "motion_blur"}


@pytest.mark.parametrize(
    ("name", "codec", "options"),
    [
        ("v.mov", "libx264", {}),
        ("v.webm", "libvpx", {}),
        ("live.webm", "libvpx", {"live": "1"}),
        ("v.mp4", "libx264", {"movflags": "frag_keyframe+empty_moov"}),
        ("v.mkv", "mpeg4", {}),
    ],
)
def test_every_kind_of_phone_and_browser_video_is_read(
    tmp_path: Path, name: str, codec: str, options: dict[str, str]
) -> None:
    path = write_video(tmp_path / name, frames(50, {33}), codec=codec, options=options)
    assert has_video(path)
    assert sharpest_frame(path, 2.0).time_s == pytest.approx(3.3, abs=0.06)


def test_one_key_frame_only_is_enough(tmp_path: Path) -> None:
    path = write_video(tmp_path / "v.mp4", frames(50, {33}), every=1000)
    assert sharpest_frame(path, 3.0).time_s == pytest.approx(3.3)


def test_time_is_that_of_the_sound(tmp_path: Path) -> None:
    """Sound from 0 s, pictures from 0.5 s on: both on one time line."""
    sound = write_recording(tmp_path / "s.mp4", "aac", beeps(48000), 48000)
    pictures = write_video(tmp_path / "p.mp4", frames(40, {22}), first_s=0.5)
    path = tmp_path / "both.mp4"
    with av.open(str(sound)) as one, av.open(str(pictures)) as two, av.open(str(path), "w") as both:
        outs = [both.add_stream_from_template(container.streams[0]) for container in (one, two)]
        for container, out in zip((one, two), outs, strict=True):
            for packet in container.demux(0):
                if packet.dts is not None:
                    packet.stream = out
                    both.mux(packet)
    assert read_sound(path).traits.has_video
    assert sharpest_frame(path, 1.5).time_s == pytest.approx(0.5 + 2.2, abs=0.03)


def turned(path: Path, quarters: int) -> Path:
    """Write the matrix of ISO/IEC 14496-12 section 8.3.2 that turns the picture clockwise into the header."""
    a, b, c, d = {1: (0, 1, -1, 0), 2: (-1, 0, 0, -1), 3: (0, -1, 1, 0)}[quarters]
    data = bytearray(path.read_bytes())
    at = data.find(b"tkhd") + 4 + 40
    one = 1 << 16
    data[at : at + 36] = struct.pack(">9i", a * one, b * one, 0, c * one, d * one, 0, 0, 0, 1 << 30)
    path.write_bytes(data)
    return path


@pytest.mark.parametrize("quarters", [1, 2, 3])
def test_a_phone_held_upright_gives_an_upright_picture(tmp_path: Path, quarters: int) -> None:
    part = draw_part(1, 640, 480)
    part[:100, :100] = (0, 0, 255)  # tells which corner is which
    path = turned(write_video(tmp_path / "v.mp4", [part] * 10), quarters)
    expected = {1: cv2.ROTATE_90_CLOCKWISE, 2: cv2.ROTATE_180, 3: cv2.ROTATE_90_COUNTERCLOCKWISE}[quarters]
    picture = sharpest_frame(path, 0.0, 1.0).picture
    assert picture.shape == cv2.rotate(part, expected).shape
    assert cv2.PSNR(picture, cv2.rotate(part, expected)) > 25


def test_the_demo_video_gives_a_sharp_picture_of_what_was_asked_for() -> None:
    for asked_s in (17.4, 32.257, 47.562):
        found = sharpest_frame(VIDEO, asked_s)
        assert asked_s <= found.time_s < asked_s + 3
        assert found.quality.usable


def test_a_moment_behind_the_end_is_named(video: Path) -> None:
    with pytest.raises(PictureNotFound, match=r"no picture from 9\.0 s on; expected at most 7\.9 s"):
        sharpest_frame(video, 9.0)


@pytest.fixture(scope="module")
def browser_video(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_video(tmp_path_factory.mktemp("video") / "v.webm", frames(60, {5, 33, 50}), codec="libvpx")


@pytest.mark.parametrize("share", [0.3, 0.6, 0.9])
@pytest.mark.long
def test_a_cut_video_gives_what_it_still_holds(browser_video: Path, tmp_path: Path, share: float) -> None:
    whole, cut = browser_video, tmp_path / "cut.webm"
    cut.write_bytes(whole.read_bytes()[: int(whole.stat().st_size * share)])
    assert sharpest_frame(cut, 0.0, 1.0).time_s == pytest.approx(0.5, abs=0.06)
    with pytest.raises(PictureNotFound):
        sharpest_frame(cut, 5.9)


def test_a_video_that_was_never_closed_is_named(video: Path, tmp_path: Path) -> None:
    path = tmp_path / "open.mp4"
    path.write_bytes(video.read_bytes()[:-2000])
    with pytest.raises(PictureUnreadable, match="never closed"):
        sharpest_frame(path, 0.0)


@pytest.mark.parametrize(
    ("data", "says"),
    [(b"", "empty"), (b"text only\n" * 9, "this is text"), (bytes(5000), "cannot|can be decoded")],
)
def test_what_is_no_video_is_refused(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "v.mp4"
    path.write_bytes(data)
    for look in (has_video, lambda at: sharpest_frame(at, 0.0)):
        with pytest.raises(PictureUnreadable, match=says):
            look(path)


def test_pictures_in_an_unknown_codec_are_none(browser_video: Path, tmp_path: Path) -> None:
    path = tmp_path / "odd.webm"
    path.write_bytes(browser_video.read_bytes().replace(b"V_VP8", b"V_NON"))
    assert not has_video(path)
    with pytest.raises(PictureUnreadable, match="has no pictures"):
        sharpest_frame(path, 0.0)


def test_sound_has_no_video(tmp_path: Path) -> None:
    path = write_recording(tmp_path / "s.ogg", "libopus", beeps(48000, 1.0), 48000)
    assert not has_video(path)
    with pytest.raises(PictureUnreadable, match="has no pictures"):
        sharpest_frame(path, 0.0)
    with pytest.raises(PictureNotFound):
        has_video(tmp_path / "gone.mp4")


@pytest.mark.parametrize(("start_s", "seconds"), [(-1.0, 3.0), (0.0, 0.0), (0.0, 61.0), (float("nan"), 3.0)])
def test_a_stretch_that_is_none_is_refused(video: Path, start_s: float, seconds: float) -> None:
    with pytest.raises(ValueError, match="expected start_s"):
        sharpest_frame(video, start_s, seconds)


def test_memory_does_not_grow_with_the_stretch(video: Path) -> None:
    peaks = []
    for seconds in (1.0, 7.5):
        tracemalloc.start()
        try:
            sharpest_frame(video, 0.0, seconds)
            peaks.append(tracemalloc.get_traced_memory()[1])
        finally:
            tracemalloc.stop()
    assert peaks[1] < peaks[0] * 1.5 + 1_000_000
