"""Messages of a bench's web socket, awaited; one that never comes fails the test, which says what came."""

from __future__ import annotations

import queue
import threading
from typing import Any

import pytest

#: Longer than any ear takes to begin on a machine that has a lot to do besides.
WITHIN_S = 120.0


def until(socket: Any, kind: str, *, within_s: float = WITHIN_S) -> dict[str, Any]:
    """Receive until a message of a kind came, and return that."""
    return both(socket, kind, within_s=within_s)[kind]


def both(socket: Any, *kinds: str, within_s: float = WITHIN_S) -> dict[str, dict[str, Any]]:
    """Receive until a message of each kind came, in whatever order; the last of each.

    Args:
        socket: of the bench.
        kinds: as the messages' ``type`` says.
        within_s: most that a single message is waited for, seconds.
    """
    told: dict[str, dict[str, Any]] = {}
    while not set(kinds) <= set(told):
        message = _next(socket, within_s)
        if message is None:
            awaited, came = " and ".join(kinds), ", ".join(told) or "nothing"
            pytest.fail(f"no message for {within_s:g} s while {awaited} was awaited; came: {came}")
        told[message["type"]] = message
    return told


def _next(socket: Any, within_s: float) -> dict[str, Any] | None:
    """Return the next message, or None where none comes; what ended the socket is raised as it would be."""
    came: queue.Queue[dict[str, Any] | BaseException] = queue.Queue()

    def receive() -> None:
        try:
            came.put(socket.receive_json())
        except BaseException as exc:
            came.put(exc)

    # The test client has no time limit of its own; the thread ends with the socket.
    threading.Thread(target=receive, daemon=True).start()
    try:
        message = came.get(timeout=within_s)
    except queue.Empty:
        return None
    if isinstance(message, BaseException):
        raise message
    return message
