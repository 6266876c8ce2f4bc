"""A sound card of ALSA's own plug-ins: PortAudio and ALSA are real, sound comes in real time by a pipe.

This machine has no sound card. ALSA's "file" device reads its input from a named pipe; whoever writes a tenth
of a second each tenth of a second is the microphone, and who stops writing has unplugged it.
"""

from __future__ import annotations

import fcntl
import os
import subprocess
import sys
import threading
import time
from ctypes.util import find_library
from pathlib import Path

import pytest

from capture.sound_blocks import Samples

NAME = "bench_microphone"


def need_portaudio() -> None:
    """Skip by name where the system has no PortAudio (``.ci/run`` installs it)."""
    if find_library("portaudio") is None:
        pytest.skip("needs the system library libportaudio2")


class SoundCard:
    """A microphone named ``bench_microphone``, for programs started with ``environment``."""

    def __init__(self, folder: Path) -> None:
        need_portaudio()
        self.pipe, config = folder / "microphone.pipe", folder / "asound.conf"
        os.mkfifo(self.pipe)
        config.write_text(
            "pcm.null { type null }\n"
            # Debian's PortAudio gives up (an assertion) where every device opens: on machines one never does.
            "pcm.absent { type hw card 9 }\n"
            f'pcm.{NAME} {{ type file slave.pcm "null" file "/dev/null" '
            f'infile "{self.pipe}" format "raw" }}\n'
        )
        self.environment = {"ALSA_CONFIG_PATH": str(config)}
        # Open for both, so that neither end waits for the other to be there.
        self._end = os.open(self.pipe, os.O_RDWR | os.O_NONBLOCK)
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None

    def speak(self, sound: Samples, rate_hz: int = 16000, *, again: bool = False) -> None:
        """Play sound into the microphone in real time, over and over if wanted; returns at once."""
        self._stop.clear()
        self._thread = threading.Thread(target=self._play, args=(sound, rate_hz, again), daemon=True)
        self._thread.start()

    def unplug(self) -> None:
        """Give no sound any more."""
        self._stop.set()
        if self._thread is not None:
            self._thread.join()

    def close(self) -> None:
        self.unplug()
        os.close(self._end)

    def _play(self, sound: Samples, rate_hz: int, again: bool) -> None:
        step, began, count = rate_hz // 10, time.monotonic(), 0
        # No more than a moment waits in the pipe: a microphone keeps nothing for who comes late.
        fcntl.fcntl(self._end, fcntl.F_SETPIPE_SZ, sound[:step].nbytes)
        while not self._stop.is_set():
            for at in range(0, len(sound) - step + 1, step):
                count += 1
                if self._stop.wait(max(0.0, began + count / 10 - time.monotonic())):
                    return
                try:
                    os.write(self._end, sound[at : at + step].tobytes())
                except BlockingIOError:
                    continue  # nobody listens: what a microphone hears then is gone
            if not again:
                return


def in_own_process(card: SoundCard | None, program: str) -> subprocess.CompletedProcess[str]:
    """Run a program in a process of its own: ALSA and PortAudio read their configuration once in each."""
    more = card.environment if card else {}
    return subprocess.run(
        [sys.executable, "-c", program], env={**os.environ, **more},
        capture_output=True, text=True, timeout=60,
    )  # fmt: skip
