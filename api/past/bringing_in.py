"""Recordings from before brought in: each ordered once as a task, worked through by any number of workers.

The order's key is the recording's content, the sheet, the engine and the rules of reading: the same command
given again goes on where it stopped, and with newer rules or another engine it makes another version beside
the first.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import select

from api.past.clock import recorded_when
from api.past.finding import Findings, Found
from api.past.reading import past_source
from api.reading_rules import reading_rules_sha256
from api.store.asked_at_once import at_once
from api.store.database import Database
from api.store.media import MediaStore, recording_name
from api.store.past_voices import keep_statement
from api.store.task_tables import Task
from api.work.ordering import order
from capture.engines import open_engine
from capture.sound import probe_sound
from shared.errors import RebuildError
from shared.job_sheet import JobSheet
from shared.settings import Settings


@dataclass(frozen=True)
class Reading:
    """How recordings are to be read."""

    sheet: JobSheet
    engine: str | None = None
    model: str | None = None


@dataclass(frozen=True)
class Ordered:
    """A recording and the task that reads it."""

    found: Found
    task_id: int


def order_all(
    database: Database, settings: Settings, findings: Findings, reading: Reading
) -> tuple[list[Ordered], str]:
    """Order the reading of every recording that was found.

    Args:
        database: of the shop.
        settings: of the shop.
        findings: the recordings.
        reading: how they are to be read.

    Returns:
        What was ordered, and which engine hears it, in words.

    Raises:
        EngineError: no such engine, or it is not on this machine.
        MediaUnusable: the media store cannot be used.
    """
    # Opened here as well: what cannot be heard is said at once, and the vocabulary is compiled for all of
    # them.
    engine = open_engine(
        reading.engine or settings.engine, reading.sheet, model=reading.model, settings=settings
    )
    rules = reading_rules_sha256(reading.sheet, settings, asks=False)
    sheet = reading.sheet.model_dump(mode="json", by_alias=True)
    what = f"{reading.sheet.model_dump_json(by_alias=True)}\n{engine.identity}\n{rules}"
    name = hashlib.sha256(what.encode()).hexdigest()[:16]
    _keep_for_all(settings, findings)
    now = datetime.now(UTC)
    whens = [_when(one.path, now) for one in findings.recordings]
    ordered = []
    with database.writing() as session:
        for one, when in zip(findings.recordings, whens, strict=True):
            payload = {
                "recording": str(one.path.resolve()), "sha256": one.sha256, "reading": name, "sheet": sheet,
                "engine": reading.engine, "model": reading.model, "rules_sha256": rules,
                "job": one.job.model_dump(mode="json", exclude_none=True), "facts": one.facts,
                "ordered_at": now.isoformat(), "when": when,
            }  # fmt: skip
            task = order(session, "process_recording", payload, key=f"past:{one.sha256}:{name}")
            ordered.append(Ordered(one, task.id))
            if one.agreed is not None:
                keep_statement(session, past_source(one.sha256), one.agreed, now)
    return ordered, f"{engine.name} ({engine.model}): {engine.reason}"


def _keep_for_all(settings: Settings, findings: Findings) -> None:
    """Put recordings where every worker reaches them, where such a place is set."""
    if not settings.media_url:
        return
    media = MediaStore(settings.media_url)
    for one in findings.recordings:
        if not media.holds(recording_name(one.sha256), one.path.stat().st_size):
            media.put(recording_name(one.sha256), one.path)


def _when(path: Path, now: datetime) -> dict[str, str | None]:
    """Return when a recording was made, by its file here: a copy elsewhere has another time of change."""
    try:
        length_s = probe_sound(path).duration_s
        when = recorded_when(path, length_s, now=now)
    except RebuildError:
        return {"began": None, "ended": None, "doubt": None}  # whoever reads it says why it cannot be
    ended = when.began + timedelta(seconds=length_s) if when.began and length_s else None
    return {"began": _text(when.began), "ended": _text(ended), "doubt": when.doubt}


def _text(moment: datetime | None) -> str | None:
    return moment.isoformat() if moment else None


@dataclass(frozen=True)
class Outcome:
    """How far the reading of one recording is."""

    path: Path
    state: str
    """waiting, doing, done or failed."""
    result: dict[str, Any] | None
    failure: str | None


def outcomes(database: Database, ordered: Sequence[Ordered]) -> list[Outcome]:
    """Return how far all that was ordered is, in the same order."""
    rows: dict[int, Task] = {}
    with database.reading() as session:
        for ids in at_once([one.task_id for one in ordered]):
            rows |= {row.id: row for row in session.scalars(select(Task).where(Task.id.in_(ids)))}
    return [
        Outcome(one.found.path, row.state, row.result, row.failure)
        for one in ordered
        for row in [rows[one.task_id]]
    ]
