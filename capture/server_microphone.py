"""A microphone at the server itself, through PortAudio: tenths of a second at 16 kHz, or one line why not.

It is opened anew after each failure: one that was unplugged and plugged in works again, and nobody has to
start anything.
"""

from __future__ import annotations

import queue
import threading
from collections.abc import Generator
from dataclasses import dataclass
from types import ModuleType
from typing import Any

import numpy as np
import soxr

from capture.sound_blocks import RATE_HZ, Samples
from shared.errors import MicrophoneFailed

#: Samples of a piece: a tenth of a second.
PIECE_SAMPLES = 1600
#: Seconds without a sample after which a microphone counts as lost; the browser's bench waits as long.
SILENT_S = 1.5
#: Pieces that wait for whoever writes them at most: a minute. What comes after them is lost and told.
_MOST_WAITING = 600
#: Seconds that a device has to be closed.
_CLOSES_S = 2.0
_lock = threading.Lock()
_open = 0


@dataclass(frozen=True)
class MicrophoneFound:
    """A sound input of this machine."""

    number: int
    """By which PortAudio knows it now; another one after devices were plugged in or out."""
    name: str
    system: str
    """Sound system that it belongs to ("ALSA")."""
    channels: int
    rate_hz: float
    """The device's own."""


@dataclass(frozen=True)
class Piece:
    """A tenth of a second."""

    samples: Samples
    """int16, mono, 16 kHz, 1600 of them."""
    lost: bool = False
    """Sound was lost before it: this machine was too busy."""


def microphones() -> list[MicrophoneFound]:
    """Return the sound inputs of this machine.

    Raises:
        MicrophoneFailed: PortAudio is not on this machine.
    """
    device = _library()
    systems = [system["name"] for system in device.query_hostapis()]
    return [
        MicrophoneFound(
            one["index"], one["name"], systems[one["hostapi"]],
            one["max_input_channels"], one["default_samplerate"],
        )
        for one in device.query_devices()
        if one["max_input_channels"] > 0
    ]  # fmt: skip


class ServerMicrophone:
    """One microphone, open as long as somebody takes its pieces.

    Args:
        source: its number, or its name or a part of it.

    Raises:
        MicrophoneFailed: there is none of that name, or it takes no rate that we can use.
    """

    def __init__(self, source: str) -> None:
        self._library = _library()
        self.source = source
        self._device = self._found()
        self._rate, self._channels = self._way_in()

    @property
    def settings(self) -> dict[str, object]:
        """What is true of it: device, sound system, rate and channels as they are taken from it."""
        return {
            "device": self._device.name,
            "system": self._device.system,
            "rate": self._rate,
            "channels": self._channels,
            "device_rate": self._device.rate_hz,
        }

    def pieces(self) -> Generator[Piece, None, None]:
        """Yield what it hears until whoever listens closes this generator.

        Raises:
            MicrophoneFailed: it cannot be opened, or gives nothing any more.
        """
        global _open
        came: queue.Queue[tuple[Samples, bool]] = queue.Queue(_MOST_WAITING)
        overrun = threading.Event()

        def take(data: Any, frames: int, moment: Any, status: Any) -> None:
            lost = bool(status.input_overflow) or overrun.is_set()
            try:
                came.put_nowait((data[:, 0].copy(), lost))
                overrun.clear()
            except queue.Full:
                overrun.set()

        try:
            stream = self._library.InputStream(
                samplerate=self._rate, channels=self._channels, dtype="int16", device=self._device.number,
                blocksize=self._rate // 10, callback=take,
            )  # fmt: skip
        except self._library.PortAudioError as exc:
            raise self._failed(f"cannot be opened ({_reason(exc)})") from exc
        with _lock:
            _open += 1
        try:
            stream.start()
            yield from self._taken(came)
        except self._library.PortAudioError as exc:
            raise self._failed(f"cannot be used ({_reason(exc)})") from exc
        finally:
            closing = threading.Thread(target=_close, args=(stream,), daemon=True)
            closing.start()
            closing.join(_CLOSES_S)  # a driver that hangs holds up this thread no longer

    def _taken(self, came: queue.Queue[tuple[Samples, bool]]) -> Generator[Piece, None, None]:
        lost = False
        down = None if self._rate == RATE_HZ else soxr.ResampleStream(self._rate, RATE_HZ, 1, "int16", "HQ")
        joined = np.empty(0, np.int16)
        while True:
            try:
                samples, lost_here = came.get(timeout=SILENT_S)
            except queue.Empty:
                raise self._failed("gives no sound") from None
            lost = lost or lost_here
            if down is not None:
                samples = np.asarray(down.resample_chunk(samples), np.int16)
            joined = np.concatenate([joined, samples])
            while len(joined) >= PIECE_SAMPLES:
                piece, joined = joined[:PIECE_SAMPLES], joined[PIECE_SAMPLES:]
                yield Piece(piece, lost)
                lost = False

    def _found(self) -> MicrophoneFound:
        _look_again(self._library)
        there = microphones()
        for one in there:
            if self.source == str(one.number) or self.source == one.name:
                return one
        parts = [one for one in there if self.source.lower() in one.name.lower()]
        if not self.source.isdecimal() and parts:
            return parts[0]
        raise self._failed("is not there")

    def _way_in(self) -> tuple[int, int]:
        """Return rate and channels: ours where the device takes them, else its own."""
        reason = ""
        for rate in (RATE_HZ, round(self._device.rate_hz)):
            for channels in (1, min(2, self._device.channels)):
                try:
                    self._library.check_input_settings(
                        device=self._device.number, channels=channels, dtype="int16", samplerate=rate
                    )
                except self._library.PortAudioError as exc:
                    reason = _reason(exc)
                    continue
                return rate, channels
        raise self._failed(f"takes no rate that can be used ({reason})")

    def _failed(self, what: str) -> MicrophoneFailed:
        return microphone_failed(self.source, what)


def microphone_failed(source: str, what: str) -> MicrophoneFailed:
    """Return the one line about a microphone of the server that cannot be used."""
    return MicrophoneFailed(
        f"the server's microphone {source!r} {what}",
        remedy="is it plugged in and switched on? `witnessmark microphones` lists what there is",
    )


def _close(stream: Any) -> None:
    global _open
    stream.close()
    with _lock:
        _open -= 1


def _library() -> ModuleType:
    """Return the library, which needs the system's PortAudio as soon as it is imported."""
    try:
        import sounddevice
    except OSError as exc:
        raise MicrophoneFailed(
            "PortAudio is not on this machine, so that it has no microphones",
            remedy="install it (on Debian: apt-get install libportaudio2), then start again",
        ) from exc
    module: ModuleType = sounddevice
    return module


def _look_again(library: Any) -> None:
    """Have PortAudio look which devices there are now: it looks once, and not while one is in use."""
    with _lock:
        if _open == 0:
            library._terminate()
            library._initialize()


def _reason(exc: Exception) -> str:
    """Return what PortAudio says, in one line."""
    return " ".join(str(exc).split())
