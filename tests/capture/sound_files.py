"""Recordings that the tests make for themselves, in memory and in every container that we name."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import av
import numpy as np

#: Times, in seconds, at which :func:`clicks` holds a short beep.
BEEPS_S = (0.5, 1.25, 2.75, 4.0, 5.5)
SECONDS = 6.0


def beeps(rate_hz: int, seconds: float = SECONDS, at_s: tuple[float, ...] = BEEPS_S) -> np.ndarray:
    """A quiet 200 Hz hum with 40 ms beeps of 1 kHz centred at known times; int16, mono."""
    t = np.arange(round(rate_hz * seconds)) / rate_hz
    sound = 0.02 * np.sin(2 * np.pi * 200 * t)
    for moment in at_s:
        sound += 0.6 * np.sin(2 * np.pi * 1000 * t) * np.exp(-(((t - moment) / 0.02) ** 2))
    return (sound * 32767).astype(np.int16)


def beep_near(sound: np.ndarray, at_s: float, rate_hz: int = 16000, within_s: float = 0.2) -> float:
    """Return the time, in seconds, of the energy's centre around ``at_s``; nan where nothing beeps."""
    first = max(0, round((at_s - within_s) * rate_hz))
    window = sound[first : round((at_s + within_s) * rate_hz)].astype(np.float64)
    power = np.where(np.abs(window) > 6000, window**2, 0)
    if not power.sum():
        return float("nan")
    return (first + float((power * np.arange(len(window))).sum() / power.sum())) / rate_hz


def write_recording(
    path: Path,
    codec: str,
    sound: np.ndarray,
    rate_hz: int,
    *,
    options: dict[str, str] | None = None,
    start_s: float = 0.0,
    picture_frames: int = 0,
    bit_rate: int | None = None,
) -> Path:
    """Encode sound, shape (samples,) or (samples, 2), int16; with a few video frames if asked."""
    channels = 1 if sound.ndim == 1 else sound.shape[1]
    layout = "mono" if channels == 1 else "stereo"
    with av.open(str(path), "w", options=options or {}) as container:
        picture = _picture_stream(container, path) if picture_frames else None
        stream = container.add_stream(codec, rate=rate_hz, layout=layout)
        if bit_rate is not None:
            stream.bit_rate = bit_rate
        for index in range(picture_frames):
            frame = av.VideoFrame.from_ndarray(
                np.full((48, 64, 3), 20 * index % 255, np.uint8), format="bgr24"
            )
            container.mux(picture.encode(frame.reformat(format="yuv420p")))
        if picture is not None:
            container.mux(picture.encode(None))
        resampler = av.AudioResampler(stream.codec_context.format, layout, rate_hz)
        fifo = av.AudioFifo()
        whole = av.AudioFrame.from_ndarray(
            np.ascontiguousarray(sound.reshape(1, -1)), format="s16", layout=layout
        )
        whole.sample_rate, whole.pts, whole.time_base = rate_hz, 0, Fraction(1, rate_hz)
        for converted in [*resampler.resample(whole), *resampler.resample(None)]:
            fifo.write(converted)
        while (frame := fifo.read(stream.codec_context.frame_size or 1024, partial=True)) is not None:
            frame.pts += round(start_s * rate_hz)
            container.mux(stream.encode(frame))
        container.mux(stream.encode(None))
    return path


def _picture_stream(container: av.container.OutputContainer, path: Path) -> av.VideoStream:
    stream = container.add_stream("libvpx" if path.suffix == ".webm" else "libx264", rate=10)
    stream.width, stream.height, stream.pix_fmt = 64, 48, "yuv420p"
    return stream


#: Every container and codec that the issue names, and the ways in which phones and browsers write them.
KINDS: dict[str, tuple[str, str, int, dict[str, str]]] = {
    "wav": ("r.wav", "pcm_s16le", 44100, {}),
    "flac": ("r.flac", "flac", 48000, {}),
    "ogg-opus": ("r.ogg", "libopus", 48000, {}),
    "mp3": ("r.mp3", "libmp3lame", 44100, {}),
    "mp3-without-count": ("r.mp3", "libmp3lame", 44100, {"write_xing": "0"}),
    "m4a": ("r.m4a", "aac", 44100, {}),
    "m4a-index-first": ("r.m4a", "aac", 44100, {"movflags": "faststart"}),
    "mp4-fragments": (
        "r.mp4",
        "aac",
        44100,
        {"movflags": "frag_keyframe+empty_moov", "frag_duration": "500000"},
    ),
    "aac": ("r.aac", "aac", 44100, {}),
    "mov": ("r.mov", "aac", 48000, {}),
    "webm": ("r.webm", "libopus", 48000, {}),
    "webm-live": ("r.webm", "libopus", 48000, {"live": "1"}),
}


def write_kind(folder: Path, kind: str) -> Path:
    """Write one of :data:`KINDS` with beeps in it."""
    name, codec, rate_hz, options = KINDS[kind]
    return write_recording(folder / f"{kind}-{name}", codec, beeps(rate_hz), rate_hz, options=options)
