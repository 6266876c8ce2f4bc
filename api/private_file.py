"""A file with a private key: its owner alone reads it, and it is there whole or not at all."""

from __future__ import annotations

import os
import stat
import tempfile
from pathlib import Path

from shared.errors import OutputUnwritable, SigningError

_MOST_BYTES = 100_000


def write_private(path: Path, data: bytes) -> None:
    """Write a file, replacing one that is there; open to its owner alone from the first moment.

    Raises:
        OutputUnwritable: it cannot be written.
    """
    try:
        # mkstemp makes it 0600 whatever the umask.
        handle, name = tempfile.mkstemp(prefix=f".{path.name}-", dir=path.parent)
        try:
            with os.fdopen(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            Path(name).replace(path)
        except BaseException:
            Path(name).unlink(missing_ok=True)
            raise
    except OSError as exc:
        raise OutputUnwritable(f"it cannot be written ({exc.strerror})", where=str(path)) from exc


def read_private(path: Path) -> bytes:
    """Return what a file holds that nobody else may read.

    Raises:
        SigningError: others can read it.
        OSError: it cannot be read.
    """
    with path.open("rb") as file:
        status = os.fstat(file.fileno())
        if not stat.S_ISREG(status.st_mode) or status.st_mode & 0o077:
            raise SigningError(
                f"a private key is open to others (mode {stat.S_IMODE(status.st_mode):04o})",
                where=str(path),
                expected="a file that its owner alone can read",
                remedy=f"if nobody else had it: chmod 600 {path}; else move it away, and a new one is made",
            )
        return file.read(_MOST_BYTES)
