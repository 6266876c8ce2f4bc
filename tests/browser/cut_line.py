"""A line between browser and server that a test can cut, as a trodden cable does."""

from __future__ import annotations

import contextlib
import socket
import threading
from types import TracebackType


class CutLine:
    """Passes connections on to a port of this machine, until it is cut."""

    def __init__(self, server_port: int) -> None:
        self._server_port = server_port
        self._whole = threading.Event()
        self._whole.set()
        self._open: set[socket.socket] = set()
        self._lock = threading.Lock()
        self._listening = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listening.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def __enter__(self) -> CutLine:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._listening.close()
        self._drop()

    def cut(self) -> None:
        """Drop every connection, and each new one at once."""
        self._whole.clear()
        self._drop()

    def mend(self) -> None:
        """Pass connections on again."""
        self._whole.set()

    def _accept(self) -> None:
        while True:
            try:
                near, _ = self._listening.accept()
            except OSError:
                return
            if not self._whole.is_set():
                near.close()
                continue
            try:
                far = socket.create_connection(("127.0.0.1", self._server_port))
            except OSError:
                near.close()
                continue
            with self._lock:
                self._open |= {near, far}
            for ends in ((near, far), (far, near)):
                threading.Thread(target=self._pass_on, args=ends, daemon=True).start()

    def _pass_on(self, source: socket.socket, sink: socket.socket) -> None:
        with contextlib.suppress(OSError):
            while data := source.recv(65536):
                sink.sendall(data)
        self._close({source, sink})

    def _drop(self) -> None:
        with self._lock:
            still_open = set(self._open)
        self._close(still_open)

    def _close(self, ends: set[socket.socket]) -> None:
        with self._lock:
            self._open -= ends
        for end in ends:
            with contextlib.suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
            end.close()
