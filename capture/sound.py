"""Any recording as blocks of 16 kHz mono sound, in constant memory, with times that stay true.

PyAV decodes and resamples. What is ours: silence in place of what is damaged or missing, so that a
second in the blocks is the second in the recording; and an honest answer to whether the recording
ended or was cut.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import av
import av.audio
import av.container

from capture.file_end import FileEnd, check_end
from capture.media_file import EXPECTED, open_media, said_by
from capture.raw_frames import RAW_CODECS, RawFrameWalk
from capture.sound_blocks import BLOCK_SAMPLES, RATE_HZ, Samples, regroup
from capture.sound_decoding import DamagedStretch, SoundDecoder
from capture.sound_tail import SoundTail, judge_tail
from shared.errors import SoundEmpty, SoundNotFound, SoundUnreadable

__all__ = [
    "BLOCK_SAMPLES", "RATE_HZ", "DamagedStretch", "SoundReader", "SoundTail", "SoundTraits", "probe_sound",
    "read_sound", "sound_sha256",
]  # fmt: skip


_RAW_CONTAINERS = frozenset({"mp3", "aac"})
#: A damaged header or time stamp can speak of years: no recording holds less than this of each second,
#: but for one pause.
_LEAST_BYTES_PER_S = 200
_LONGEST_PAUSE_S = 60.0


@dataclass(frozen=True, slots=True)
class SoundTraits:
    """What a recording is, as its header has it."""

    container: str
    """The decoder library's name, such as ``wav`` or ``matroska,webm``."""
    codec: str
    rate_hz: int
    """As recorded; blocks are always 16 kHz."""
    channels: int
    duration_s: float | None
    """As the file states or suggests; None where it says nothing. For progress, not for evidence."""
    has_video: bool


class SoundReader:
    """The blocks of one recording: int16, mono, 16 kHz, 8,000 samples each, the last one shorter.

    Iterating starts anew at the beginning each time. ``tail`` and ``damage`` are about the last
    iteration that reached the end.
    """

    def __init__(self, path: Path, traits: SoundTraits) -> None:
        self.path = path
        self.traits = traits
        self._tail: SoundTail | None = None
        self._decoder: SoundDecoder | None = None

    @property
    def duration_s(self) -> float | None:
        """Seconds, as the file states or suggests; None where it says nothing."""
        return self.traits.duration_s

    @property
    def tail(self) -> SoundTail:
        """How the recording ended.

        Raises:
            RuntimeError: it has not been read to its end.
        """
        if self._tail is None:
            raise RuntimeError("the end of a recording is known once it has been read")
        return self._tail

    @property
    def damage(self) -> tuple[DamagedStretch, ...]:
        """Stretches read so far that hold silence for damaged or missing sound (the first 500)."""
        return tuple(self._decoder.damage) if self._decoder is not None else ()

    @property
    def damage_count(self) -> int:
        """Damaged stretches read so far, all of them."""
        return self._decoder.damage_count if self._decoder is not None else 0

    def __iter__(self) -> Iterator[Samples]:
        return self.blocks()

    def blocks(self, from_sample: int = 0) -> Iterator[Samples]:
        """Yield the blocks from a sample on.

        Args:
            from_sample: samples at 16 kHz to leave out. They are decoded all the same, so that what
                follows is the same to the bit as in a reading from the beginning.

        Raises:
            SoundNotFound, SoundUnreadable, SoundEmpty: the file went away or changed since it was opened.
        """
        self._tail = None
        with _sound_track(self.path) as (container, stream), _decoder(self, container, stream) as decoder:
            end = check_end(self.path, container.format.name)
            self._decoder = decoder
            yield from regroup(_skip(decoder.pieces(), from_sample))
            self._tail = _tail_of(self.path, decoder, end, container, stream)


def read_sound(path: Path | str) -> SoundReader:
    """Open a recording: WAV, FLAC, OGG/Opus, MP3, M4A/AAC or the sound of an MP4, MOV or WebM video.

    The first sound is decoded at once, so that a file that is no recording is refused here.

    Raises:
        SoundNotFound: no such file.
        SoundUnreadable: not a recording, or one that cannot be decoded.
        SoundEmpty: no bytes, no samples, or a video without a sound track.
    """
    path = Path(path)
    traits = probe_sound(path)
    reader = SoundReader(path, traits)
    with _sound_track(path) as (container, stream), _decoder(reader, container, stream) as decoder:
        if next(decoder.pieces(), None) is None:
            raise _no_sound(path, decoder, check_end(path, container.format.name))
    return reader


def probe_sound(path: Path | str) -> SoundTraits:
    """Read a recording's header.

    Raises:
        SoundNotFound, SoundUnreadable, SoundEmpty: as :func:`read_sound`, but for what only decoding shows.
    """
    path = Path(path)
    with _sound_track(path) as (container, stream):
        stated_s = check_end(path, container.format.name).stated_s
        duration_s = stated_s or _stream_s(stream) or _container_s(container)
        context = stream.codec_context
        return SoundTraits(
            container=container.format.name,
            codec=context.name,
            rate_hz=context.sample_rate,
            channels=context.layout.nb_channels,
            duration_s=_believable_s(duration_s, path),
            has_video=any(not _is_cover(video) for video in container.streams.video),
        )


def sound_sha256(path: Path | str) -> str:
    """Return the SHA-256 of a file's bytes, in hexadecimal, read in pieces.

    Raises:
        SoundNotFound, SoundUnreadable: it cannot be opened.
    """
    try:
        with Path(path).open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError as exc:
        raise SoundNotFound("no such recording", where=str(path), remedy="check the name") from exc
    except OSError as exc:
        raise SoundUnreadable(f"the file cannot be read ({said_by(exc)})", where=str(path)) from exc


@contextmanager
def _sound_track(path: Path) -> Iterator[tuple[av.container.InputContainer, av.audio.AudioStream]]:
    with open_media(path) as container:
        stream = container.streams.best("audio")
        # A track in a codec that the library does not know has no context.
        if not isinstance(stream, av.audio.AudioStream) or getattr(stream, "codec_context", None) is None:
            if container.streams.video and not container.streams.audio:
                raise SoundEmpty(
                    "this video has no sound track",
                    where=str(path),
                    remedy="record it with the microphone on",
                )
            raise SoundUnreadable(
                "this is no recording that can be decoded", where=str(path), expected=EXPECTED
            )
        yield container, stream


@contextmanager
def _decoder(
    reader: SoundReader, container: av.container.InputContainer, stream: av.audio.AudioStream
) -> Iterator[SoundDecoder]:
    longest_s = _longest_s(reader.path)
    if container.format.name not in _RAW_CONTAINERS or stream.codec_context.name not in RAW_CODECS:
        yield SoundDecoder(container, stream, min(longest_s, reader.duration_s or longest_s))
        return
    with reader.path.open("rb") as file:
        yield SoundDecoder(container, stream, longest_s, RawFrameWalk(file))


def _tail_of(
    path: Path,
    decoder: SoundDecoder,
    end: FileEnd,
    container: av.container.InputContainer,
    stream: av.audio.AudioStream,
) -> SoundTail:
    stated_s = end.stated_s
    if stated_s is None and container.format.name.startswith("mov"):
        # Its tables list every piece of sound, so its length is a statement; others only suggest one.
        stated_s = _stream_s(stream)
    stated_s = _believable_s(stated_s, path)
    return judge_tail(decoder.samples_out / RATE_HZ, stated_s, end, decoder.complaint)


def _no_sound(path: Path, decoder: SoundDecoder, end: FileEnd) -> SoundEmpty | SoundUnreadable:
    if decoder.complaint:
        return SoundUnreadable(
            f"nothing of it can be decoded ({decoder.complaint})", where=str(path), expected=EXPECTED
        )
    said = f" ({end.said})" if end.said else ""
    return SoundEmpty(f"the recording holds no sound{said}", where=str(path))


def _skip(pieces: Iterator[Samples], count: int) -> Iterator[Samples]:
    for piece in pieces:
        if count >= len(piece):
            count -= len(piece)
            continue
        yield piece[count:]
        count = 0


def _longest_s(path: Path) -> float:
    return path.stat().st_size / _LEAST_BYTES_PER_S + _LONGEST_PAUSE_S


def _believable_s(stated_s: float | None, path: Path) -> float | None:
    return stated_s if stated_s is not None and 0 < stated_s <= _longest_s(path) else None


def _stream_s(stream: av.audio.AudioStream) -> float | None:
    if stream.duration is None or stream.time_base is None:
        return None
    return float(stream.duration * stream.time_base)


def _container_s(container: av.container.InputContainer) -> float | None:
    return container.duration / av.time_base if container.duration else None


def _is_cover(stream: av.VideoStream) -> bool:
    return bool(stream.disposition & av.stream.Disposition.attached_pic)
