"""A microphone of the server, taken by a process of its own: a driver that dies takes nothing with it.

PortAudio ends the process that it is in where a device is not as it expects, and a driver that hangs
cannot be stopped otherwise. The child writes records to its standard output, each a letter, its length and
what it holds: S what is true of the device (JSON), P a tenth of a second (one byte whether sound was lost
before it, then the samples), F why there is no more (JSON).
"""

from __future__ import annotations

import json
import os
import select
import struct
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import suppress
from typing import IO

import numpy as np

from capture.server_microphone import SILENT_S, Piece, ServerMicrophone, microphone_failed
from shared.errors import MicrophoneFailed

_MODULE = "capture.microphone_process"
_HEAD = struct.Struct("<cI")
#: Seconds that the child has to begin, and beyond the silence that it tells itself.
_STARTS_S, _GRACE_S = 20.0, 3.0
_ENDS_S = 2.0


class MicrophoneProcess:
    """One microphone, open in a child until closed; see :class:`capture.server_microphone.ServerMicrophone`.

    Args:
        source: its number, or its name or a part of it.

    Raises:
        MicrophoneFailed: there is none of that name, or it cannot be used as it is.
    """

    def __init__(self, source: str) -> None:
        self._source = source
        command = [sys.executable, "-m", _MODULE, source]
        self._child = subprocess.Popen(  # noqa: S603 - ourselves
            command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=0
        )
        try:
            kind, held = self._record(_STARTS_S)
            if kind == b"F":
                raise _failure(held)
            self.settings: dict[str, object] = json.loads(held)
        except BaseException:
            self.close()
            raise

    def pieces(self) -> Iterator[Piece]:
        """Yield what it hears until it is closed.

        Raises:
            MicrophoneFailed: it gives nothing any more, or its process died.
        """
        while True:
            kind, held = self._record(SILENT_S + _GRACE_S)
            if kind == b"F":
                raise _failure(held)
            yield Piece(np.frombuffer(held, "<i2", offset=1), held[0] == 1)

    def close(self) -> None:
        """Let go of the device."""
        self._child.terminate()
        try:
            self._child.wait(_ENDS_S)
        except subprocess.TimeoutExpired:
            self._child.kill()
            self._child.wait()
        _out(self._child).close()

    def _record(self, within_s: float) -> tuple[bytes, bytes]:
        until = time.monotonic() + within_s
        kind, length = _HEAD.unpack(self._read(_HEAD.size, until))
        return kind, self._read(length, until)

    def _read(self, count: int, until: float) -> bytes:
        read = b""
        out = _out(self._child)
        while len(read) < count:
            ready, _, _ = select.select([out], [], [], max(0.0, until - time.monotonic()))
            if not ready:
                raise microphone_failed(self._source, "does not answer")
            more = os.read(out.fileno(), count - len(read))
            if not more:
                raise microphone_failed(self._source, "stopped: its driver ended")
            read += more
        return read


def _out(child: subprocess.Popen[bytes]) -> IO[bytes]:
    assert child.stdout is not None
    return child.stdout


def _failure(held: bytes) -> MicrophoneFailed:
    told = json.loads(held)
    return MicrophoneFailed(told["line"], remedy=told["remedy"])


def main(arguments: list[str]) -> int:
    """Take one microphone and write its records; the whole life of the child."""
    out = sys.stdout.buffer
    try:
        microphone = ServerMicrophone(arguments[0])
        _write(out, b"S", json.dumps(microphone.settings).encode())
        for piece in microphone.pieces():
            _write(out, b"P", bytes([piece.lost]) + piece.samples.astype("<i2").tobytes())
    except MicrophoneFailed as exc:
        with suppress(BrokenPipeError):
            _write(out, b"F", json.dumps({"line": exc.what, "remedy": exc.remedy}).encode())
    except BrokenPipeError:
        pass  # nobody listens any more
    # A driver that waits for its device would hold up the end of the process.
    os._exit(0)


def _write(out: IO[bytes], kind: bytes, held: bytes) -> None:
    out.write(_HEAD.pack(kind, len(held)) + held)
    out.flush()


if __name__ == "__main__":
    main(sys.argv[1:])
