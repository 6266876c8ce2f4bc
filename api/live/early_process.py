"""Hears ahead of a bench's ear, in a process of its own: its words are on the screen while the ear works.

What goes in: blocks of sound, what the ear knows by now, None for the end. What comes out: :class:`Early`.
Where this process dies or falls behind, nothing is lost but haste.
"""

from __future__ import annotations

import logging
import multiprocessing
import queue
import signal
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from typing import Any

from api.live.ear_process import EarWork, Known
from api.live.early_reading import Early, EarlyReading
from api.operation.log_lines import write_json_lines
from capture.early_ear import EarlyEar
from capture.sound_blocks import RATE_HZ, Samples
from capture.vocabulary.apart import compile_apart
from shared.errors import RebuildError

_In = Samples | Known | None
#: So many seconds of sound that wait: the processor has better things to do than to guess.
_LATE_S = 1.5


class EarlyHearing:
    """A process that hears ahead of one recording; thread-safe.

    Args:
        context: how processes are started.
        work: what the ear of the recording was given.
        listener: is told what was heard, in a thread of its own.
    """

    def __init__(self, context: Any, work: EarWork, listener: Callable[[Early], None]) -> None:
        self._waiting: queue.Queue[_In] = queue.Queue()
        ours, theirs = context.Pipe()
        self._process: multiprocessing.Process = context.Process(
            target=run_early, args=(work, theirs), daemon=True
        )
        self._process.start()
        theirs.close()
        threading.Thread(target=_send, args=(self._waiting, ours), daemon=True).start()
        self._over = threading.Event()
        threading.Thread(target=self._receive, args=(ours, listener), daemon=True).start()

    def give(self, what: Samples | Known) -> None:
        """Give it the next sound, or what the ear knows by now."""
        if not self._over.is_set():
            self._waiting.put(what)

    def stop(self) -> None:
        """Stop it."""
        self._over.set()
        self._waiting.put(None)
        self._process.terminate()
        self._process.join(10)

    def _receive(self, pipe: Any, listener: Callable[[Early], None]) -> None:
        while not self._over.is_set():
            try:
                listener(pipe.recv())
            except (EOFError, OSError):
                self._over.set()


def run_early(work: EarWork, pipe: Connection) -> None:
    """Hear until told to stop; the whole life of the process."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    write_json_lines(work.settings.log_level)
    try:
        _listen(work, pipe)
    except (EOFError, OSError, RebuildError):
        return  # The ear hears everything all the same.
    except Exception:
        logging.getLogger(__name__).exception("early_ear_stopped")
    finally:
        pipe.close()


def _listen(work: EarWork, pipe: Connection) -> None:
    compile_apart(work.sheet, work.settings.cache_dir)
    ear = EarlyEar(work.sheet, work.settings.cache_dir, work.saved_samples / RATE_HZ)
    reading = EarlyReading(work.sheet, work.job, work.settings)
    while True:
        came = _all_that_came(pipe)
        blocks = [one for one in came if not isinstance(one, Known) and one is not None]
        # What the ear knows goes before: later words are read by it.
        for known in (one for one in came if isinstance(one, Known)):
            reading.know(known.said, known.place_s, anew=known.anew)
            ear.recall(known.memory)
        if sum(len(block) for block in blocks) > _LATE_S * RATE_HZ:
            ear.pass_over()
        for block in blocks:
            utterance = ear.hear(block)
            if utterance is not None:
                pipe.send(reading.read(utterance))
        if came[-1] is None:
            return


def _all_that_came(pipe: Connection) -> list[_In]:
    came: list[_In] = [pipe.recv()]
    while came[-1] is not None and pipe.poll():
        came.append(pipe.recv())
    return came


def _send(waiting: queue.Queue[_In], pipe: Any) -> None:
    while True:
        what = waiting.get()
        try:
            pipe.send(what)
        except (BrokenPipeError, OSError):
            return
        if what is None:
            return
