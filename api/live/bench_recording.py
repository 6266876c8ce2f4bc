"""A recording that is being made: frames to its journal, safe before they are acknowledged, and to its ear.

The ear's process may die; the sound is in the journal, so another one hears it from there.
"""

from __future__ import annotations

import queue
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any, Literal

from api.listening import SOUND_JOURNAL
from api.live.ear_context import ear_context
from api.live.ear_process import EarWork, Ended, Failed, Heard, HeardTo, Ready, Seen, run_ear
from api.live.early_process import EarlyHearing
from api.live.early_reading import Early
from api.live.frames import FRAME_SAMPLES, Frame
from api.live.pictures_asked import PictureAsked
from api.live.presses import Press
from capture.sound_blocks import RATE_HZ, Samples
from capture.sound_journal import SoundJournal
from shared.photo import Photo

#: Frames between two writes through to the disk: half a second is what a power cut may take from the server;
#: the browser has it still.
_SYNC_EVERY = 5
#: So many frames are remembered by when they came: ten minutes, more than any ear is behind.
_REMEMBERED = 6000
#: An ear that dies so often on the same recording does not get better by trying.
_MOST_EARS = 3

Message = Ready | Heard | Seen | Ended | Failed
#: Told every message of the ear, in a thread of its own.
Listener = Callable[[Message | PictureAsked | HeardTo | Early], None]


class BenchRecording:
    """One recording while it is made; thread-safe.

    Args:
        folder: of the recording; made where it is not there.
        work: what its ear needs to know (``saved_samples`` is filled in here).
        listener: is told what the ear says.
        took: is told how long writing through to the disk took, stage and seconds.
    """

    def __init__(
        self,
        folder: Path,
        work: EarWork,
        listener: Listener,
        took: Callable[[str, float], None] = lambda stage, seconds: None,
    ) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / SOUND_JOURNAL
        self._journal = (
            SoundJournal.open(path)
            if path.exists()
            else SoundJournal.create(path, {"recording": folder.name})
        )
        self._work, self._listener, self._took = work, listener, took
        self._came: deque[tuple[float, float]] = deque(maxlen=_REMEMBERED)
        """Of each frame the second of the recording at its end, and when it came."""
        self._lock = threading.Lock()
        self._unsynced = 0
        self._ears = 0
        self._early: EarlyHearing | None = None
        self._state: Literal["open", "ended", "abandoned"] = "open"
        self.latest: Message | None = None
        """The last thing that the ear said, for whoever looks on later."""
        self._start_ear()

    @property
    def next_frame(self) -> int:
        """The first frame that is not in the journal."""
        return self._journal.resume_at_sample // FRAME_SAMPLES

    def take(self, frame: Frame) -> int | None:
        """Write a frame; return the number of the next one wanted once all before it are safe, else None.

        One that is there already is passed over; one that is too early is not taken: the answer says which
        one is wanted.

        Raises:
            JournalFull: the disk took no more; nothing of what was acknowledged is lost.
        """
        with self._lock:
            if frame.number != self.next_frame or self._state != "open":
                return self._safe()
            self._journal.append(frame.samples)
            self._blocks.put(frame.samples)
            if self._early is not None:
                self._early.give(frame.samples)
            self._came.append((self._journal.resume_at_sample / RATE_HZ, time.monotonic()))
            self._unsynced += 1
            return self._safe() if self._unsynced >= _SYNC_EVERY else None

    @property
    def waiting_s(self) -> float:
        """Seconds of sound that came in and that no ear has taken yet."""
        return self._blocks.qsize() * FRAME_SAMPLES / RATE_HZ

    def since_came(self, at_s: float) -> float | None:
        """Return how long ago a second of the recording came in, or None where that is not remembered."""
        with self._lock:
            if not self._came or at_s < self._came[0][0] - FRAME_SAMPLES / RATE_HZ:
                return None  # It was in the journal before this server took the recording up.
            came = next((came for end_s, came in self._came if end_s >= at_s), None)
        return None if came is None else time.monotonic() - came

    def see(self, photo: Photo) -> None:
        """Show a picture of the job to the ear, whose record it belongs to."""
        with self._lock:
            self._work = replace(self._work, photos=(*self._work.photos, photo))
            self._blocks.put(photo)

    def press(self, press: Press) -> bool:
        """Pass on a button or key that was pressed; tell whether the recording still goes on."""
        with self._lock:
            if self._state == "open":
                self._blocks.put(press)
            return self._state == "open"

    def flush(self) -> int:
        """Have all frames on disk; return the number of the next one wanted."""
        with self._lock:
            return self._safe()

    def end(self) -> None:
        """Say that no more sound comes; the ear tells :class:`Ended` once it has heard everything."""
        with self._lock:
            if self._state == "open":
                self._state = "ended"
                self._safe()  # A browser may still send; then there is nothing left to write through.
                self._journal.close()
                self._blocks.put(None)

    def hear_again(self) -> bool:
        """Start another ear where the last one gave up; return whether it had.

        It hears what the journal has from its beginning, passes over what was heard, and goes on.
        """
        with self._lock:
            if not isinstance(self.latest, Failed) or self._state == "abandoned":
                return False
            self._ears, self.latest = 0, None
            self._start_ear()
            return True

    def abandon(self) -> None:
        """Stop as a crash would: the recording can be gone on with."""
        with self._lock:
            if self._state == "open":
                self._safe()
                self._journal.abandon()
            self._state = "abandoned"
            if self._early is not None:
                self._early.stop()
        self._process.terminate()
        self._process.join(10)

    def _safe(self) -> int:
        if self._unsynced:
            begun = time.perf_counter()
            self._journal.sync()
            self._took("saving", time.perf_counter() - begun)
            self._unsynced = 0
        return self.next_frame

    def _start_ear(self) -> None:
        """Start a process that hears what is in the journal and what comes after."""
        self._ears += 1
        self._blocks: queue.Queue[Samples | Photo | Press | None] = queue.Queue()
        context = ear_context()
        ours, theirs = context.Pipe()
        work = replace(self._work, saved_samples=self._journal.resume_at_sample)
        self._process = context.Process(target=run_ear, args=(work, theirs), daemon=True)
        self._process.start()
        theirs.close()
        if self._early is not None:
            self._early.stop()
        self._early = (
            EarlyHearing(context, work, self._listener)
            if work.settings.provisional and work.engine != "scripted" and self._state == "open"
            else None
        )
        if self._state == "ended":
            self._blocks.put(None)
        threading.Thread(target=_send, args=(self._blocks, ours), daemon=True).start()
        threading.Thread(target=self._receive, args=(ours,), daemon=True).start()

    def _receive(self, pipe: Any) -> None:
        ended = False
        while True:
            try:
                message: Message | PictureAsked | HeardTo = pipe.recv()
            except (EOFError, OSError):
                break
            ended = isinstance(message, Ended | Failed)
            if not isinstance(message, PictureAsked | HeardTo):
                self.latest = message
            early = self._early
            if (
                isinstance(message, Ready | Heard | HeardTo)
                and message.known is not None
                and early is not None
            ):
                early.give(message.known)
            self._listener(message)
        with self._lock:
            if self._early is not None:
                self._early.stop()
                self._early = None
            self._blocks.put(None)  # lets go the thread that waits to send to a pipe that is closed
            if ended or self._state == "abandoned":
                return
            if self._ears < _MOST_EARS:
                self._start_ear()
                return
        self.latest = Failed("the ear stopped again and again; the sound is safe and can be heard later")
        self._listener(self.latest)


def _send(blocks: queue.Queue[Samples | Photo | Press | None], pipe: Any) -> None:
    """Pass blocks on to the ear; a busy one must not hold up the server."""
    while True:
        block = blocks.get()
        try:
            pipe.send(block)
        except (BrokenPipeError, OSError):
            return
        if block is None:
            return
