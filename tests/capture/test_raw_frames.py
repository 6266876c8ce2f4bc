"""Frames of raw MP3 and ADTS files, checked against what an encoder wrote."""

from __future__ import annotations

import io
from pathlib import Path

import av
import numpy as np
import pytest

from capture.raw_frames import RawFrameWalk, frame_header, id3_bytes
from tests.capture.sound_files import beeps, write_recording


def packets(path: Path) -> list[bytes]:
    """Outside check: the frames as libavformat parts them."""
    with av.open(str(path)) as container:
        return [bytes(packet) for packet in container.demux(audio=0) if packet.size]


@pytest.mark.parametrize(
    ("name", "codec", "rate_hz", "channels", "samples"),
    [
        ("a.mp3", "libmp3lame", 44100, 1, 1152),
        ("b.mp3", "libmp3lame", 48000, 2, 1152),
        ("c.mp3", "libmp3lame", 32000, 2, 1152),
        ("d.mp3", "libmp3lame", 16000, 1, 576),
        ("e.mp3", "libmp3lame", 11025, 1, 576),
        ("f.aac", "aac", 44100, 2, 1024),
        ("g.aac", "aac", 16000, 1, 1024),
    ],
)
def test_walk_finds_the_frames_that_the_encoder_wrote(
    tmp_path: Path, name: str, codec: str, rate_hz: int, channels: int, samples: int
) -> None:
    sound = np.stack([beeps(rate_hz, 2.0)] * channels, axis=1) if channels == 2 else beeps(rate_hz, 2.0)
    path = write_recording(tmp_path / name, codec, sound, rate_hz)
    with path.open("rb") as file:
        walk = RawFrameWalk(file)
        frames = list(walk.frames())
    assert [frame.data for frame in frames] == packets(path)
    assert walk.lost_at_end == 0
    header = frame_header(frames[0].data)
    assert header is not None
    assert (header.samples, header.rate_hz) == (samples, rate_hz)
    assert frames[-1].start_s == pytest.approx((len(frames) - 1) * samples / rate_hz)


def test_walk_counts_what_lies_between_frames(tmp_path: Path) -> None:
    path = write_recording(tmp_path / "a.aac", "aac", beeps(16000, 4.0), 16000)
    frames = packets(path)
    lost = b"\0" * sum(len(frame) for frame in frames[10:20])
    walk = RawFrameWalk(io.BytesIO(b"".join(frames[:10]) + lost + b"".join(frames[20:])))
    found = list(walk.frames())
    assert [frame.data for frame in found] == frames[:10] + frames[20:]
    assert found[10].lost_bytes == len(lost)
    assert found[10].start_s == pytest.approx(20 * 1024 / 16000, abs=4 * 1024 / 16000)


@pytest.mark.parametrize("tail", [b"TAG" + bytes(125), b"APETAGEX" + bytes(24), bytes(300)])
def test_tags_and_padding_at_the_end_are_no_damage(tmp_path: Path, tail: bytes) -> None:
    path = write_recording(tmp_path / "a.mp3", "libmp3lame", beeps(44100, 1.0), 44100)
    walk = RawFrameWalk(io.BytesIO(path.read_bytes() + tail))
    assert len(list(walk.frames())) == len(packets(path))
    assert walk.lost_at_end == 0


@pytest.mark.parametrize("seed", range(5))
def test_noise_holds_no_frames_to_speak_of(seed: int) -> None:
    walk = RawFrameWalk(io.BytesIO(np.random.default_rng(seed).bytes(200_000)))
    assert len(list(walk.frames())) <= 2


@pytest.mark.parametrize(
    ("head", "length"),
    [
        (b"ID3\x04\0\0\0\0\x02\x01", 10 + 257),
        (b"ID3\x04\0\x10\0\0\0\x05", 25),
        (b"fLaC\0\0\0\0\0\0", 0),
        (b"ID3", 0),
    ],
)
def test_id3_length_is_seven_bits_a_byte(head: bytes, length: int) -> None:
    assert id3_bytes(head) == length
