"""Waiting for a bench's message comes to an end."""

from __future__ import annotations

import threading
from typing import Any

import pytest
from starlette.websockets import WebSocketDisconnect

from tests.api.web.awaiting import both, until


class Socket:
    """Says what it was given, then nothing more."""

    def __init__(self, *kinds: str, then: BaseException | None = None) -> None:
        self._left, self._then = [{"type": kind, "number": n} for n, kind in enumerate(kinds)], then
        self.over = threading.Event()

    def receive_json(self) -> dict[str, Any]:
        if self._left:
            return self._left.pop(0)
        if self._then is not None:
            raise self._then
        self.over.wait(10)
        return {"type": "too late"}


def test_the_message_awaited_is_returned_and_those_before_it_are_passed_over() -> None:
    assert until(Socket("ready", "heard", "heard"), "heard") == {"type": "heard", "number": 1}
    told = both(Socket("pressed", "heard"), "heard", "pressed")
    assert {kind: message["number"] for kind, message in told.items()} == {"pressed": 0, "heard": 1}


def test_a_message_that_never_comes_fails_with_what_came_instead() -> None:
    socket = Socket("ready", "safe")
    with pytest.raises(pytest.fail.Exception, match="while heard was awaited; came: ready, safe"):
        until(socket, "heard", within_s=0.05)
    socket.over.set()


def test_a_socket_that_is_closed_says_so_at_once() -> None:
    with pytest.raises(WebSocketDisconnect):
        until(Socket(then=WebSocketDisconnect(4000)), "heard")
