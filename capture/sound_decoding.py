"""Decodes one sound track packet by packet and puts every frame where its time stamp says.

What cannot be decoded, or was never stored, becomes silence of the same length and is reported.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Generator, Iterator
from dataclasses import dataclass
from typing import Any, cast

import av
import av.audio
import av.container
import numpy as np

from capture.downmix import Downmix
from capture.media_file import media_start, said_by
from capture.raw_frames import RawFrameWalk
from capture.sound_blocks import BLOCK_SAMPLES, RATE_HZ, Samples

#: Time stamps of some containers are rounded, and clocks differ a little: less than this is no gap.
_JITTER_S = 0.05
#: The same after the decoder complained: then even a short gap is real.
_JITTER_AFTER_DAMAGE_S = 0.002
#: A gap longer than this is not believed.
_LONGEST_GAP_S = 600.0
#: Sound before the beginning of the recording that is dropped; more is a wrong time stamp.
_LONGEST_PRIMING_S = 1.0
#: What a recording can have.
_RATES_HZ = (1000, 768_000)
#: So many failures in a row without a packet between them, and the rest is given up.
_MOST_FAILURES = 8
#: Frames that are looked ahead, some seconds; a browser's damaged cluster is shorter.
_FRAMES_AHEAD = 256
#: A stamp that strays less than this is taken for a gap, or for rounding.
_LEAST_STRAY_S = 0.5
#: Damaged stretches that are kept one by one; more are counted.
_MOST_STRETCHES = 500
#: Stretches nearer to each other than this are one.
_MERGE_S = 0.5

NO_SOUND_STORED = "the recording holds no sound here"


@dataclass(frozen=True, slots=True)
class DamagedStretch:
    """A stretch that could not be decoded or is missing; the blocks hold silence there."""

    start_s: float
    end_s: float
    said: str
    """What the decoder said, in one line."""


class SoundDecoder:
    """One pass over the sound track of an open file.

    Args:
        container: an open file.
        stream: its sound track.
        longest_s: how long it can be at most; a time stamp beyond it is not believed.
        raw: the same file's frames where it is a raw stream, whose time stamps are not to be trusted.
    """

    def __init__(
        self,
        container: av.container.InputContainer,
        stream: av.audio.AudioStream,
        longest_s: float,
        raw: RawFrameWalk | None = None,
    ) -> None:
        self.damage: list[DamagedStretch] = []
        self.damage_count = 0
        """Stretches in all; ``damage`` keeps the first few hundred."""
        self.complaint = ""
        """What the decoder said since it last gave sound."""
        self.samples_out = 0
        self._heard = ""
        self._ahead: deque[tuple[av.AudioFrame, float | None, str]] = deque()
        self._container, self._stream, self._raw = container, stream, raw
        self._longest_s = longest_s
        self._start_s = float(media_start(container))
        self._shift_s = 0.0
        self._expected_s: float | None = None
        self._skip = 0
        self._resampler: av.AudioResampler | None = None
        self._shape: tuple[str, str, int] | None = None
        self._downmix = Downmix()
        if stream.codec_context.name == "flac":
            # Otherwise a frame whose checksum fails is played as noise.
            stream.codec_context.options = {"err_detect": "crccheck+explode"}

    def pieces(self) -> Iterator[Samples]:
        """Yield int16 mono 16 kHz pieces of any length that follow one another without a gap."""
        frames = self._frames() if self._raw is None else self._raw_frames(self._raw)
        for frame, stamp_s, complaint in self._with_those_ahead(frames):
            self.complaint = complaint or self.complaint
            yield from self._place(frame, stamp_s)
        self.complaint = self._heard or self.complaint
        yield from self._flush()

    def _with_those_ahead(
        self, frames: Iterator[tuple[av.AudioFrame, float | None]]
    ) -> Iterator[tuple[av.AudioFrame, float | None, str]]:
        """Give each frame with what the decoder said before it, while ``_ahead`` holds those that follow."""
        for frame, stamp_s in frames:
            self._ahead.append((frame, stamp_s, self._heard))
            self._heard = ""
            if len(self._ahead) > _FRAMES_AHEAD:
                yield self._ahead.popleft()
        while self._ahead:
            yield self._ahead.popleft()

    def _frames(self) -> Iterator[tuple[av.AudioFrame, float | None]]:
        """Give frames and when they begin, in seconds of the container's time line."""
        for packet in self._packets():
            for frame in self._decode(packet.decode):
                stamped = frame.pts is not None and frame.time_base is not None
                yield frame, float(frame.pts * frame.time_base) if stamped else None  # type: ignore[operator]

    def _packets(self) -> Iterator[av.Packet[Any]]:
        failures = 0
        while failures < _MOST_FAILURES:
            try:
                for packet in self._container.demux(self._stream):
                    failures = 0
                    yield packet
                return
            except av.error.FFmpegError as exc:
                # The container is damaged here; the library may find its way again behind it.
                self._heard = said_by(exc)
                failures += 1

    def _raw_frames(self, walk: RawFrameWalk) -> Iterator[tuple[av.AudioFrame, float | None]]:
        codec = cast(av.AudioCodecContext, av.CodecContext.create(self._stream.codec_context.name, "r"))
        for raw in walk.frames():
            if raw.lost_bytes:
                self._heard = f"bytes that are no sound: {raw.lost_bytes}; times after it are estimated"
            packet = av.Packet(raw.data)
            for frame in self._decode(lambda packet=packet: codec.decode(packet)):  # type: ignore[misc]
                yield frame, raw.start_s
        if walk.lost_at_end:
            self._heard = f"bytes at the end that make no whole frame: {walk.lost_at_end}"

    def _decode(self, decode: Callable[[], list[Any]]) -> list[av.AudioFrame]:
        try:
            frames = decode()
        except av.error.EOFError:
            return []
        except av.error.FFmpegError as exc:
            self._heard = said_by(exc)
            return []
        return [frame for frame in frames if isinstance(frame, av.AudioFrame)]

    def _place(self, frame: av.AudioFrame, stamp_s: float | None) -> Iterator[Samples]:
        if not _RATES_HZ[0] <= frame.sample_rate <= _RATES_HZ[1]:
            self.complaint = f"a sample rate of {frame.sample_rate} Hz"
            return
        at_s = self._expected_s or 0.0
        if stamp_s is not None:
            at_s = stamp_s - self._start_s + self._shift_s
            if self._is_wrong_stamp(frame, self._expected_s or 0.0, at_s):
                at_s = self._expected_s or 0.0
                self._report(at_s, at_s, self.complaint or "wrong time stamps")
        at_s = (
            yield from self._begin(at_s)
            if self._expected_s is None
            else self._close_gap(self._expected_s, at_s)
        )
        self._expected_s = at_s
        try:
            resampled = list(self._resample(frame))
        except (av.error.FFmpegError, ValueError) as exc:
            # Damage that the decoder took for another format: silence takes its place before the next frame.
            self.complaint, self._resampler = said_by(exc), None
            return
        self._expected_s = at_s + frame.samples / frame.sample_rate
        if frame.is_corrupt:
            self._report(at_s, self._expected_s, "marked as corrupt")
        self.complaint = ""
        yield from resampled

    def _is_wrong_stamp(self, frame: av.AudioFrame, expected_s: float, at_s: float) -> bool:
        """Tell a time stamp that leaves the line from a true gap: those of later frames come back to it."""
        gap_s = abs(at_s - expected_s)
        if gap_s < _LEAST_STRAY_S:
            return False
        line_s = expected_s + frame.samples / frame.sample_rate
        for later, stamp_s, _ in self._ahead:
            later_s = None if stamp_s is None else stamp_s - self._start_s + self._shift_s
            if later_s is not None and abs(later_s - line_s) < min(1.0, gap_s / 2):
                return True
            line_s += later.samples / max(later.sample_rate, 1)
        return False

    def _begin(self, at_s: float) -> Generator[Samples, None, float]:
        """Give the silence before the first frame; return where it begins, in seconds."""
        if at_s > self._longest_gap_s(0.0) or at_s < -_LONGEST_PRIMING_S:
            self._shift_s -= at_s
            at_s = 0.0
        # An encoder's priming stands before the beginning.
        self._skip = max(0, round(-at_s * RATE_HZ))
        if self.complaint:
            self._report(0.0, max(0.0, at_s), self.complaint)
        yield from self._silence_until(at_s)
        return at_s

    def _longest_gap_s(self, from_s: float) -> float:
        return min(_LONGEST_GAP_S, self._longest_s + 1.0 - from_s)

    def _close_gap(self, expected_s: float, at_s: float) -> Generator[Samples, None, float]:
        """Give the silence between two frames; return where the second one begins, in seconds."""
        gap_s = at_s - expected_s
        jitter_s = _JITTER_AFTER_DAMAGE_S if self.complaint else _JITTER_S
        if abs(gap_s) <= jitter_s:
            if self.complaint:
                self._report(expected_s, expected_s, self.complaint)
            return expected_s
        if gap_s < 0 or gap_s > self._longest_gap_s(expected_s):
            # Nothing that can be true: go on without a gap, and read later stamps from here.
            self._shift_s -= gap_s
            self._report(expected_s, expected_s, self.complaint or f"its time stamps jump by {gap_s:.1f} s")
            return expected_s
        yield from self._flush()
        yield from self._silence_until(at_s)
        self._report(expected_s, at_s, self.complaint or NO_SOUND_STORED)
        return at_s

    def _silence_until(self, at_s: float) -> Iterator[Samples]:
        missing = round(at_s * RATE_HZ) - self.samples_out
        while missing > 0:
            yield from self._give(np.zeros(min(missing, BLOCK_SAMPLES), np.int16))
            missing -= BLOCK_SAMPLES

    def _resample(self, frame: av.AudioFrame) -> Iterator[Samples]:
        shape = (frame.format.name, frame.layout.name, frame.sample_rate)
        if shape != self._shape:
            yield from self._flush()
            self._shape = shape
        if self._resampler is None:
            layout = "mono" if frame.layout.nb_channels == 1 else "stereo"
            self._resampler = av.AudioResampler(format="s16", layout=layout, rate=RATE_HZ)
        for resampled in self._resampler.resample(frame):
            yield from self._mono(resampled)

    def _flush(self) -> Iterator[Samples]:
        if self._resampler is not None:
            resampler, self._resampler = self._resampler, None
            try:
                rest = resampler.resample(None)
            except (av.error.FFmpegError, ValueError) as exc:
                self.complaint = said_by(exc)
                return
            for resampled in rest:
                if resampled is not None:
                    yield from self._mono(resampled)

    def _mono(self, frame: av.AudioFrame) -> Iterator[Samples]:
        sound = frame.to_ndarray().astype(np.int16, copy=False).reshape(-1, frame.layout.nb_channels)
        mono = self._downmix.mix(sound) if sound.shape[1] == 2 else sound[:, 0]
        if self._skip:
            dropped = min(self._skip, len(mono))
            self._skip -= dropped
            mono = mono[dropped:]
        yield from self._give(mono)

    def _give(self, mono: Samples) -> Iterator[Samples]:
        if len(mono):
            self.samples_out += len(mono)
            yield mono

    def _report(self, start_s: float, end_s: float, said: str) -> None:
        last = self.damage[-1] if self.damage else None
        if last is not None and last.said == said and start_s - last.end_s < _MERGE_S:
            self.damage[-1] = DamagedStretch(last.start_s, max(last.end_s, end_s), said)
            return
        self.damage_count += 1
        if len(self.damage) < _MOST_STRETCHES:
            self.damage.append(DamagedStretch(start_s, end_s, said))
