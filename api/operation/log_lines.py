"""What the server writes down of its own work: JSON lines on standard error, nobody's words or names in them.

An event is a fixed word (``recording_ended``) with figures and ids beside it. Nothing else gets through: an
exception is its kind, its code and the lines of the program that it passed, never its message, since that may
hold what somebody said or typed; of what a library says only uvicorn's own sentences, before anything is
filled in.
"""

from __future__ import annotations

import json
import logging
import re
import sys
import threading
import traceback
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, Literal, TextIO

from shared.errors import RebuildError

Level = Literal["info", "warning", "error"]

#: What may stand beside an event. None of these ever holds what a person is called, said or typed.
FIELDS: Final = frozenset({
    "job", "recording", "engine", "route", "method", "status", "seconds", "readings", "questions", "erased",
    "silenced", "version", "worker", "task", "attempt", "bytes", "files", "code",
})  # fmt: skip
_EVENT = re.compile(r"[a-z][a-z_]*")
#: Identifiers and routes; nothing with a blank in it.
_PLAIN = re.compile(r"[\w./{}:+-]{1,120}")
_HOUSE = Path(__file__).parents[2]


class JsonLines(logging.Formatter):
    """Makes one JSON object a line of a log record."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        at = datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")
        line: dict[str, object] = {"at": at, "level": record.levelname.lower(), "from": record.name}
        event = _event(record)
        if event is not None:
            line["event"] = event
        for name, value in getattr(record, "beside", {}).items():
            if name in FIELDS and _may_stand(value):
                line[name] = value
        if record.exc_info and record.exc_info[1] is not None:
            line |= _of_exception(record.exc_info[1])
        return json.dumps(line)


def log_event(logger: logging.Logger, level: int, event: str, /, **beside: object) -> None:
    """Write an event down.

    Args:
        logger: of the module.
        level: of :mod:`logging`.
        event: a fixed word.
        beside: figures and ids; others than :data:`FIELDS` are left out.
    """
    logger.log(level, event, extra={"beside": beside})


def write_json_lines(level: Level, to: TextIO | None = None) -> None:
    """Have everything that is logged in this process written as JSON lines.

    Args:
        level: what is less than this is not written.
        to: where; standard error where nothing is named.
    """
    handler = logging.StreamHandler(to or sys.stderr)
    handler.setFormatter(JsonLines())
    root = logging.getLogger()
    root.handlers[:] = [handler]
    root.setLevel(level.upper())
    logging.captureWarnings(True)
    # Python's own would print the message of what could not be formatted, or of what ended a thread.
    logging.raiseExceptions = False
    threading.excepthook = _thread_stopped


def _thread_stopped(stopped: threading.ExceptHookArgs) -> None:
    if stopped.exc_value is not None:
        logging.getLogger(__name__).error("thread_stopped", exc_info=stopped.exc_value)


def _event(record: logging.LogRecord) -> str | None:
    text = str(record.msg)
    if record.name.split(".")[0] in ("api", "capture", "extract", "shared") and _EVENT.fullmatch(text):
        return text
    if record.name.startswith("uvicorn"):
        return text.strip()
    return None


def _may_stand(value: object) -> bool:
    return isinstance(value, int | float) or (isinstance(value, str) and bool(_PLAIN.fullmatch(value)))


def _of_exception(error: BaseException) -> dict[str, object]:
    told: dict[str, object] = {"exception": type(error).__name__}
    if isinstance(error, RebuildError):
        told["code"] = error.code
    causes: list[str] = []
    below = error.__cause__ or error.__context__
    while below is not None and len(causes) < 5:
        causes.append(type(below).__name__)
        below = below.__cause__ or below.__context__
    if causes:
        told["because_of"] = causes
    frames = traceback.extract_tb(error.__traceback__)
    told["at_lines"] = [f"{_place(frame.filename)}:{frame.lineno}" for frame in frames[-12:]]
    return told


def _place(name: str) -> str:
    path = Path(name)
    if path.is_relative_to(_HOUSE) and "site-packages" not in path.parts:
        return str(path.relative_to(_HOUSE))
    return "/".join(path.parts[-2:])
