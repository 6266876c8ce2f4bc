"""One ear at a time writes the journals of a recording.

An ear whose server was killed lives until it finds its pipe closed, behind the piece of speech that it is
hearing; meanwhile a server that was started again has an ear of its own for the same recording.
"""

from __future__ import annotations

import fcntl
import os
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from shared.errors import OutputBusy

#: A piece of speech has 20 s at most; a loaded machine takes several times as long to hear it.
_ENDS_IN_S = 180.0
_TRY_EVERY_S = 0.1


@contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Wait until no other process hears the recording, and let none until the block ends.

    The lock is the operating system's, on the folder itself: a killed process leaves none, and no file.

    Args:
        folder: of the recording.

    Raises:
        OutputBusy: the other one did not end.
    """
    held = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        _take(held, folder)
        yield
    finally:
        os.close(held)


def _take(held: int, folder: Path) -> None:
    until = time.monotonic() + _ENDS_IN_S
    while True:
        try:
            fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError as exc:
            if time.monotonic() >= until:
                raise OutputBusy(
                    "another process hears this recording and does not end", where=str(folder),
                    remedy="end it, or start the machine again; the sound is safe and is heard then",
                ) from exc  # fmt: skip
            time.sleep(_TRY_EVERY_S)
        else:
            return
