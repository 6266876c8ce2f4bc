"""Which function does which kind of task. One set, whatever database and queue there are."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy.orm import Session

from shared.settings import Settings


@dataclass(frozen=True)
class Place:
    """Where a task is done."""

    folder: Path
    """Data folder of this machine."""
    settings: Settings


#: Keeps what came of the work, in the transaction that ends the task, and returns the task's result.
Keep = Callable[[Session], dict[str, Any]]
#: Does the long part outside of any transaction. Must be idempotent: it may have been done in part, or
#: wholly.
TaskFunction = Callable[[Place, dict[str, Any]], Keep]


def task_function(kind: str) -> TaskFunction:
    """Return what does a kind of task; it loads only then.

    Raises:
        KeyError: no version of this program has such tasks, or a later one.
    """
    if kind == "process_recording":
        from api.past.reading import read_recording

        return read_recording
    raise KeyError(kind)
