"""How long the stages of a rebuild take, as distributions: the narration's own times, by the minute."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import func, literal_column, select
from sqlalchemy.orm import Session

from api.lessons.counted import Asked
from api.store.archive_tables import ArchivedRecord, ArchivedStage

_ORDER = ("as_found", "as_left", "either", "whole")


@dataclass(frozen=True)
class StageTimes:
    """One stage's."""

    stage: str
    minutes: Mapping[int, int]
    """Records by minutes, to the nearest."""

    @property
    def records(self) -> int:
        """How many there are."""
        return sum(self.minutes.values())

    def quantile(self, share: float) -> float:
        """Return the minutes within which a share of all is done.

        Args:
            share: between 0 and 1.

        Source: interpolated within the minute in which it falls; common practice, no source.
        """
        wanted, passed = share * self.records, 0
        for minute in sorted(self.minutes):
            here = self.minutes[minute]
            if passed + here >= wanted:
                # What is counted as a minute took from half a minute less to half a minute more.
                low = max(0.0, minute - 0.5)
                return low + (minute + 0.5 - low) * (wanted - passed) / here
            passed += here
        raise ValueError("no records")


def stage_times(session: Session, asked: Asked) -> Sequence[StageTimes]:
    """Return the times of each stage of a sheet."""
    stage, record = ArchivedStage, ArchivedRecord
    # No bound value: a server that binds them itself would not know it for the one that is grouped by.
    minute = func.round(stage.seconds / literal_column("60.0"))
    query: Any = (
        select(stage.stage, minute, func.count())
        .join(record, record.id == stage.record_id)
        .where(record.sheet_id == asked.sheet_id, record.stands)
    )
    query = asked.months(query, record.month).group_by(stage.stage, minute)
    found: dict[str, dict[int, int]] = {}
    for name, minutes, count in session.execute(query):
        found.setdefault(name, {})[int(minutes)] = int(count)
    last = len(_ORDER)
    order = sorted(found, key=lambda name: (_ORDER.index(name) if name in _ORDER else last, name))
    return [StageTimes(name, found[name]) for name in order]
