"""A shop's findings in the terms of ISO 14224, for who keeps reliability data by it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from shared.data_files import read_data

_FILE = Path(__file__).with_name("iso14224.yaml")
_MEMORY = "from memory"


@dataclass(frozen=True)
class IsoTerm:
    """A code of the standard."""

    code: str
    notation: str
    memory: bool
    """Whether the mapping is from memory; else the standard's note names the word."""

    @property
    def flag(self) -> str:
        """What stands beside it in a table."""
        return _MEMORY if self.memory else "named in the standard's note"


def mechanism_of(condition: str) -> IsoTerm | None:
    """Return the failure mechanism (table B.2) of a condition; None of one that is no failure."""
    return _term(_table()["mechanisms"].get(condition))


def mechanism_of_reading(kind: str | None) -> IsoTerm | None:
    """Return the failure mechanism of a reading outside its limits, by what it measures; None if unknown."""
    return _term(_table()["readings"].get(kind or ""))


def possible_mode(part: str) -> IsoTerm | None:
    """Return the failure mode that a part's failure may have shown as; only to be asked about."""
    words = part.split("_")
    for name, term in _table()["possible_modes"].items():
        if all(word in words for word in name.split("_")):
            return _term(term)
    return None


@cache
def _table() -> dict[str, Any]:
    table: dict[str, Any] = read_data(_FILE)
    return table


def _term(row: dict[str, Any] | None) -> IsoTerm | None:
    return None if row is None else IsoTerm(row["code"], row["notation"], bool(row.get("memory", False)))
