"""Which browser sends the sound of a job: one at a time, and another only when somebody says so."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True, eq=False)
class Sender:
    """A browser that sends the sound of a job."""

    client: str
    """By which a page is known again after a lost connection; made by the page itself."""
    name: str
    """Who is signed in there, as people know him."""
    evict: Callable[[str], None]
    """Tells it that another takes over, and who."""


class Senders:
    """Who sends, by job; thread-safe."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._sending: dict[str, Sender] = {}

    def claim(self, job_id: str, sender: Sender, *, take_over: bool) -> Sender | None:
        """Have a browser send the sound of a job; return who sends it already, if that one is kept.

        The same page come back takes its own place again without a word: the line that it had is dead.

        Args:
            job_id: of the job.
            sender: that wants to send.
            take_over: somebody there was told of the other and wants to send all the same.
        """
        with self._lock:
            before = self._sending.get(job_id)
            again = before is not None and before.client == sender.client != ""
            if before is not None and not again and not take_over:
                return before
            self._sending[job_id] = sender
        if before is not None:
            before.evict("" if again else sender.name)
        return None

    def release(self, job_id: str, sender: Sender) -> None:
        """Say that a browser sends no more; one that was put out of its place changes nothing."""
        with self._lock:
            if self._sending.get(job_id) is sender:
                del self._sending[job_id]

    def sends(self, job_id: str, sender: Sender) -> bool:
        """Return whether a browser is still the one whose sound is taken."""
        with self._lock:
            return self._sending.get(job_id) is sender
