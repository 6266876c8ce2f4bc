"""Whole jobs to speak and what a careful reader files from them: development and evaluation data.

Development jobs may be looked at and tuned on: the demo's narrations and the labelled bench talk of
``tests/extract/data``. Evaluation jobs (``fixtures/evaluation``) are only ever scored.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from fixtures.evaluation.evaluation_files import EVALUATION_JOBS, FORMER_JOBS, read_evaluation_job
from fixtures.narration_files import REBUILDS, Line, read_expected, read_narration, utterance_of
from shared.job_sheet import JobSheet, load_job_sheet
from tests.extract.bench_jobs import DATA, read_talk

_PAUSE_S = 1.2


@dataclass(frozen=True)
class SaidReading:
    """A reading that was said and must be filed."""

    line: int
    """Number of the line that says it, from 0."""
    item: str
    position: str | None
    value: Fraction | None
    """In the sheet's unit; None: no value may be filed, it must be asked about."""
    stands: bool = True
    """False where something said later took its place."""
    counts: bool = True
    """False where filing it is not asked for (a slip put right in the same breath)."""


@dataclass(frozen=True)
class SpokenJob:
    """One job: what is said and what is to come of it."""

    name: str
    sheet: JobSheet
    lines: tuple[Line, ...]
    readings: tuple[SaidReading, ...]
    chatter: frozenset[int]
    """Numbers of the lines that file nothing."""


def development_jobs() -> list[SpokenJob]:
    """Return the jobs that may be tuned on."""
    rebuilds = [
        _from_record(
            name,
            load_job_sheet(read_expected(name)["sheet"]),
            read_narration(name),
            read_expected(name),
            lambda words, name=name: utterance_of(name, words),
        )
        for name in REBUILDS
    ]
    talks = sorted(path.name.removesuffix(".talk.yaml") for path in DATA.glob("*.talk.yaml"))
    return rebuilds + [_from_labels(name) for name in talks]


def evaluation_jobs() -> list[SpokenJob]:
    """Return the jobs that nobody tunes to."""
    return _jobs_of(EVALUATION_JOBS)


def former_evaluation_jobs() -> list[SpokenJob]:
    """Return the jobs that were evaluation once and may be looked at since."""
    return _jobs_of(FORMER_JOBS)


def _jobs_of(names: Iterable[str]) -> list[SpokenJob]:
    found = []
    for name in names:
        job = read_evaluation_job(name)
        sheet = load_job_sheet(job.sheet)
        found.append(_from_record(name, sheet, job.lines, job.expected, job.utterance_of))
    return found


def _from_record(
    name: str, sheet: JobSheet, lines: tuple[Line, ...], expected: dict[str, Any], line_of: Any
) -> SpokenJob:
    readings = tuple(
        SaidReading(
            line_of(entry["words"]),
            entry["item"],
            entry.get("position"),
            _value_of(entry),
            stands=not entry.get("superseded"),
            counts=not (entry.get("may") or entry.get("in_breath") or entry.get("needs_review")),
        )
        for entry in expected.get("readings", [])
    )
    chatter = [line_of(words) for kind in ("chatter", "paused") for words in expected.get(kind, [])]
    return SpokenJob(name, sheet, lines, readings, frozenset(chatter))


def _value_of(entry: dict[str, Any]) -> Fraction | None:
    value = entry["value"]
    return None if value in (None, "any") else Fraction(str(value))


def _from_labels(name: str) -> SpokenJob:
    talk = read_talk(name)
    readings: list[SaidReading] = []
    for number, (_, label) in enumerate(talk):
        for part in label.split(";"):
            _add_label(readings, number, part.strip())
    chatter = frozenset(n for n, (_, label) in enumerate(talk) if {"chat", "paused"} & set(_parts(label)))
    lines = tuple(Line(words, _PAUSE_S) for words, _ in talk)
    return SpokenJob(name, load_job_sheet(DATA / f"{name}.yaml"), lines, tuple(readings), chatter)


def _parts(label: str) -> Iterable[str]:
    return (part.strip() for part in label.split(";"))


def _add_label(readings: list[SaidReading], number: int, label: str) -> None:
    """Add the reading of one label; a corrected one before it no longer stands."""
    if label.startswith("?"):
        item, _, position = label[1:].partition("@")
        readings.append(SaidReading(number, item, position or None, None, counts=False))
        return
    head, equals, value = label.removeprefix("fix ").partition("=")
    if not equals or head.startswith("hdr "):
        return
    item, _, position = head.split("#")[0].partition("@")
    place = (item, position or None)
    if label.startswith("fix "):
        for at, earlier in enumerate(readings):
            if (earlier.item, earlier.position) == place:
                readings[at] = SaidReading(
                    earlier.line, item, earlier.position, earlier.value, False, earlier.counts
                )
    readings.append(SaidReading(number, *place, Fraction(value)))
