"""Standard input where a command takes a file: kept in a temporary one, because sound is read twice."""

from __future__ import annotations

import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

_STANDARD_INPUT = "-"


@contextmanager
def file_or_standard_input(name: str) -> Iterator[Path]:
    """Yield the path of a file, or of a copy of standard input for ``-``, gone afterwards."""
    if name != _STANDARD_INPUT:
        yield Path(name)
        return
    with tempfile.TemporaryDirectory(prefix="witnessmark-") as folder:
        path = Path(folder) / "standard-input"
        with path.open("wb") as file:
            shutil.copyfileobj(sys.stdin.buffer, file)
        yield path
