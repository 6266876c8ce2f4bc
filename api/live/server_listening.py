"""A microphone of the server at a bench: its frames go the way of a browser's, numbered, to its recording.

It listens on when the bench's browser is gone, until the recording ends; one that failed is opened again.
"""

from __future__ import annotations

import logging
import threading
import time
from collections import deque
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass

import numpy as np

from api.live.bench_recording import BenchRecording
from api.live.frames import FRAME_SAMPLES, Frame
from api.operation.log_lines import log_event
from capture.microphone_process import MicrophoneProcess
from capture.sound_blocks import Samples
from shared.errors import MicrophoneFailed, RebuildError

_LOG = logging.getLogger(__name__)
#: Seconds until a microphone that failed is opened again.
_AGAIN_S = 2.0
#: Frames that wait for a disk that takes none: ten minutes.
_MOST_PENDING = 6000
#: Seconds for which lost sound is told.
_LOST_S = 3.0
#: Seconds after which masking ends by itself, if whoever asked for it is gone.
_MASKED_S = 20.0
#: Seconds that it has to take its last frame.
_ENDS_S = 5.0


@dataclass(frozen=True)
class MicrophoneHeard:
    """What a bench is told of the server's microphone, each tenth of a second."""

    peak: float
    """0 to 1."""
    line: str = ""
    """Why it does not record, or nothing."""


class ServerListening:
    """One microphone of the server listening for one recording.

    Args:
        source: the microphone, as the setting names it.
        recording: takes its frames.
        tell: is told how it goes; called from a thread of its own.
    """

    def __init__(
        self, source: str, recording: BenchRecording, tell: Callable[[MicrophoneHeard], None]
    ) -> None:
        self._source, self._recording, self._tell = source, recording, tell
        self._stop = threading.Event()
        self._masked_until = 0.0
        self._pending: deque[Samples] = deque(maxlen=_MOST_PENDING)
        self._line, self._line_until = "", 0.0
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        """Begin to listen; returns at once."""
        self._thread.start()

    def mask(self, masked: bool) -> None:
        """Take silence for what comes in while the bench itself speaks."""
        self._masked_until = time.monotonic() + _MASKED_S if masked else 0.0

    def close(self) -> None:
        """Listen no more; returns when its last frame is taken."""
        self._stop.set()
        self._thread.join(_ENDS_S)

    @property
    def listens(self) -> bool:
        """Whether it is at work, also while it waits for a microphone that failed."""
        return self._thread.is_alive()

    def _run(self) -> None:
        while not self._stop.is_set():
            try:
                self._listen()
            except MicrophoneFailed as exc:
                log_event(_LOG, logging.WARNING, "microphone_failed", code=exc.code)
                self._tell(MicrophoneHeard(0.0, str(exc)))
                self._stop.wait(_AGAIN_S)

    def _listen(self) -> None:
        with closing(MicrophoneProcess(self._source)) as microphone:
            for piece in microphone.pieces():
                if piece.lost:
                    self._warn("this machine was too busy: sound of the server's microphone was lost")
                masked = time.monotonic() < self._masked_until
                peak = float(np.abs(piece.samples.astype(np.int32)).max()) / 32768
                self._pending.append(np.zeros(FRAME_SAMPLES, np.int16) if masked else piece.samples)
                self._pass_on()
                if self._stop.is_set():
                    return
                line = self._line if time.monotonic() < self._line_until else ""
                self._tell(MicrophoneHeard(peak, line))

    def _pass_on(self) -> None:
        """Hand over what waits, by the number that the recording wants next."""
        while self._pending:
            wanted = self._recording.next_frame
            try:
                self._recording.take(Frame(wanted, self._pending[0]))
            except RebuildError as exc:
                self._warn(str(exc))
                return
            if self._recording.next_frame == wanted:
                self._stop.set()  # It is ended.
                return
            self._pending.popleft()

    def _warn(self, line: str) -> None:
        self._line, self._line_until = line, time.monotonic() + _LOST_S
