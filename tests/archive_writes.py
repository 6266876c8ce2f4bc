"""Whether whatever writes to the archive names its new state, watched in every test on every engine."""

from __future__ import annotations

import re
from typing import Any

from sqlalchemy import Connection, Engine, event

_WRITES = re.compile(
    r"\s*(?:insert\s+into|update|delete\s+from)\s+\W?(archived_\w+|archive_state\b)", re.IGNORECASE
)
_STATE = "archive_state"
#: The first change of each transaction that changed rows of the archive and was kept under its old state.
UNTOLD: list[str] = []


def watch_archive_writes() -> None:
    """Watch all engines from here on."""
    event.listen(Engine, "before_cursor_execute", _written)
    event.listen(Engine, "commit", _kept)
    event.listen(Engine, "rollback", _dropped)


def _written(connection: Connection, _cursor: Any, statement: str, *_: Any) -> None:
    if found := _WRITES.match(statement):
        connection.info.setdefault("archive_written", []).append((found[1].lower(), statement))


def _kept(connection: Connection) -> None:
    written = connection.info.pop("archive_written", [])
    if written and all(table != _STATE for table, _ in written):
        UNTOLD.append(written[0][1])


def _dropped(connection: Connection) -> None:
    connection.info.pop("archive_written", None)
