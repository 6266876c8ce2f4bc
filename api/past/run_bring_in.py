"""Bringing in the past as a command runs it: ordered, worked through, how far it is, and the summary."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click

from api.data_folder import make_data_folder
from api.failure import DONE, FOUND, NOT_DONE
from api.past.bringing_in import Ordered, Outcome, Reading, order_all, outcomes
from api.past.finding import Findings, find_recordings
from api.progress import LineNowAndThen
from api.store.database import Database, database_url
from api.store.migrating import migrate
from api.work.running import work
from shared.errors import SoundNotFound
from shared.settings import load_settings


@dataclass(frozen=True)
class BringIn:
    """What is to be brought in, and how."""

    places: Sequence[Path]
    reading: Reading
    data: Path | None = None
    """Data folder; None: as set."""
    workers: int = 1
    """In this process; 0: order only, workers elsewhere do it."""


def run_bring_in(wanted: BringIn, *, strict: bool = False, as_json: bool = False) -> int:
    """Bring recordings in, print what came of it and return the exit status.

    Raises:
        SoundNotFound: there is no recording in these folders.
    """
    settings = load_settings()
    folder = wanted.data or settings.data_dir
    findings = find_recordings(wanted.places)
    if not findings.recordings:
        raise SoundNotFound(
            "no recording in here", where=", ".join(str(place) for place in wanted.places),
            expected="files such as .wav, .m4a or .mp4", remedy="see --help for the kinds",
        )  # fmt: skip
    make_data_folder(folder)
    database = Database(database_url(folder, settings.database_url))
    try:
        migrate(database)
        ordered, engine = order_all(database, settings, findings, wanted.reading)
        click.echo(f"listening with {engine}", err=True)
        if wanted.workers:
            progress = _Progress(database, ordered)
            work(database, folder, settings, count=wanted.workers, wanted=progress.go_on)
        ended = outcomes(database, ordered)
    finally:
        database.close()
    if as_json:
        click.echo(json.dumps(_as_json(findings, ended), indent=2, ensure_ascii=False))
    else:
        _print_summary(findings, ended, ordered_only=not wanted.workers)
    return _status(ended, strict=strict)


class _Progress:
    """Says now and then how far the work is; asked whether to go on."""

    def __init__(self, database: Database, ordered: Sequence[Ordered]) -> None:
        self._database, self._ordered = database, ordered
        self._line = LineNowAndThen(sys.stderr)
        self._done_before: int | None = None
        self._began = time.monotonic()

    def go_on(self) -> bool:
        ended = outcomes(self._database, self._ordered)
        self._line.say(self._said(ended))
        return any(one.state in ("waiting", "doing") for one in ended)

    def _said(self, ended: Sequence[Outcome]) -> str:
        counts = {state: sum(one.state == state for one in ended) for state in ("done", "failed", "doing")}
        over = counts["done"] + counts["failed"]
        if self._done_before is None:
            self._done_before = over
        said = f"{over} of {len(ended)} recordings read, {counts['doing']} at work"
        if counts["failed"]:
            said += f", {counts['failed']} that cannot be read"
        in_this_run = over - self._done_before
        if in_this_run and over < len(ended):
            left_s = (time.monotonic() - self._began) / in_this_run * (len(ended) - over)
            said += f", about {max(1, round(left_s / 60))} min left"
        return said


def _status(ended: Sequence[Outcome], *, strict: bool) -> int:
    done = [one for one in ended if one.state == "done"]
    if ended and all(one.state == "failed" for one in ended):
        return NOT_DONE
    doubtful = len(done) < len(ended) or any(
        one.result and (one.result["questions"] or one.result["deviations"]) for one in done
    )
    return FOUND if strict and doubtful else DONE


def _print_summary(findings: Findings, ended: Sequence[Outcome], *, ordered_only: bool) -> None:
    for one in ended:
        click.echo(f"{one.path}: {_said_of(one)}")
        for remark in (one.result or {}).get("remarks", ()):
            click.echo(f"    {remark}")
        if one.result and one.result["clock_doubt"]:
            click.echo(f"    Date: {one.result['clock_doubt']}.")
    for path, first in findings.duplicates:
        click.echo(f"{path}: the same recording as {first}")
    for path, why in findings.passed_over:
        click.echo(f"{path}: passed over, {why}")
    counts = {
        state: sum(one.state == state for one in ended) for state in ("done", "failed", "waiting", "doing")
    }
    said = [f"{counts['done']} read and filed"]
    said += [f"{counts['failed']} that cannot be read"] if counts["failed"] else []
    left = counts["waiting"] + counts["doing"]
    said += (
        [f"{left} ordered" if ordered_only else f"{left} left: give the same command again"] if left else []
    )
    said += [f"{len(findings.duplicates)} there twice"] if findings.duplicates else []
    said += [f"{len(findings.passed_over)} passed over"] if findings.passed_over else []
    click.echo("")
    click.echo(", ".join(said))


def _said_of(one: Outcome) -> str:
    if one.state == "failed":
        return f"cannot be read: {one.failure}"
    if one.result is None:
        return "ordered" if one.state == "waiting" else "at work"
    found = one.result
    again = f", version {found['version']}" if found["version"] > 1 else ""
    return (
        f"{found['readings']} readings, {found['questions']} questions, {found['deviations']} deviations, "
        f"{found['missing']} never said{again}"
    )


def _as_json(findings: Findings, ended: Sequence[Outcome]) -> dict[str, Any]:
    return {
        "recordings": [
            {"file": str(one.path), "state": one.state, "failure": one.failure, **(one.result or {})}
            for one in ended
        ],
        "duplicates": [{"file": str(path), "same_as": str(first)} for path, first in findings.duplicates],
        "passed_over": [{"file": str(path), "why": why} for path, why in findings.passed_over],
    }
