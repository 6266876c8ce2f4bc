"""Before it is closed up: what the sheet wants, nobody said, and nobody can see once the pump is together.

The warning is given once for a state of the work: again only where something is missing that was not named.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import cache
from itertools import zip_longest
from pathlib import Path

from api.report.missing_rows import missing_rows, never_said
from api.report.view import Highlight
from shared.data_files import read_data
from shared.job_sheet import JobSheet
from shared.record import Missing, RebuildRecord
from shared.sheet_entries import words_of

#: So many are said aloud; the screen shows them all.
_SAID = 4


class ClosingUp:
    """Whether the pump goes together now, and what was warned of."""

    def __init__(self) -> None:
        self.on = False
        self._named: set[str] = set()

    def begin(self, wanted: Sequence[Highlight]) -> bool:
        """Take in that the pump goes together; tell whether to warn of what is wanted."""
        texts = {row.text for row in wanted}
        new = not self.on or not texts <= self._named
        self.on = True
        self._named |= texts
        return new

    def end(self) -> None:
        """The pump is taken apart again."""
        self.on = False
        self._named.clear()


def wanted_before(record: RebuildRecord, sheet: JobSheet) -> list[Highlight]:
    """Return what was never said and cannot wait until the pump is together, of each kind in turn."""
    missing = [one for one in never_said(record) if not _can_wait(sheet, one)]
    return in_turn(missing_rows(record.model_copy(update={"missing": missing}), sheet))


def in_turn(rows: Sequence[Highlight]) -> list[Highlight]:
    """Return a reading, a photo, a decision, a step, and so on: the first few tell something of each kind."""
    by_kind: dict[str, list[Highlight]] = {}
    for row in rows:
        by_kind.setdefault(row.kind, []).append(row)
    return [row for turn in zip_longest(*by_kind.values()) for row in turn if row is not None]


def few_of(rows: Sequence[Highlight]) -> str:
    """Return what is missing as it is said: the first few, and how many more."""
    more = [f"and {len(rows) - _SAID} more"] if len(rows) > _SAID else []
    return ", ".join([*(_short(row.text) for row in rows[:_SAID]), *more])


def _short(line: str) -> str:
    """Return a line as it is said: "shim pack", "seal, renewed or reused"."""
    before, colon, after = line.partition(": ")
    if colon and before == "renewed or reused":
        return f"{after} {before}"
    return f"{before} {after}".strip()


def _can_wait(sheet: JobSheet, missing: Missing) -> bool:
    name = missing.item or missing.step
    if name is None:
        return False
    item = sheet.measured.get(name)
    called = [words_of(name), *(item.spoken if item is not None else ())]
    return any(_afterwards().search(words) for words in called)


@cache
def _afterwards() -> re.Pattern[str]:
    words = read_data(Path(__file__).with_suffix(".yaml"))["afterwards"]
    return re.compile(rf"\b(?:{'|'.join(map(re.escape, words))})\b")
