"""What is said of parts and consumables on invented sheets of other machines."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance
from tests.extract.bench_jobs import sheet_of


def _rows() -> Iterator[tuple[str, str, str]]:
    """Yield (sheet, utterances parted by bars, all that they give) of ``data/part_talk_of_jobs.tsv``."""
    table = Path(__file__).with_name("data") / "part_talk_of_jobs.tsv"
    for line in table.read_text("utf-8").splitlines():
        if line and not line.startswith("#"):
            sheet, lines, wanted = line.split("\t")
            yield sheet, lines, wanted


@cache
def _pristine(sheet: str) -> RecordBuilder:
    return RecordBuilder(load_job_sheet(sheet_of(sheet)))


def told(sheet: str, lines: list[str]) -> list[str]:
    """What utterances give, sorted: part:condition, part:action, consumable>part.

    ``?`` where asked about, ``~`` off the sheet, ``!corrected`` or ``!struck`` where it stands no more.
    """
    pristine = _pristine(sheet)
    shared = ("sheet", "_pipeline", "_readings")
    builder = copy.deepcopy(pristine, {id(vars(pristine)[name]): vars(pristine)[name] for name in shared})
    for n, line in enumerate(lines):
        builder.hear(Utterance(line, 5.0 * n, 5.0 * n + 3.0))
    record = builder.record()
    got = []
    for entry in [*record.conditions, *record.parts]:
        mark = "~" if entry.unlisted else "?" if entry.needs_review else ""
        said = getattr(entry, "condition", None) or getattr(entry, "action", None)
        ended = f"!{entry.superseded_why}" if entry.superseded_why else ""
        got.append(f"{mark}{entry.part}:{said}{ended}")
    got += [f"{'?' if use.needs_review else ''}{use.name}>{use.applied_to}" for use in record.consumables]
    return sorted(got)


@pytest.mark.parametrize(("sheet", "lines", "wanted"), list(_rows()))
def test_talk_of_parts_gives_what_a_careful_reader_files(sheet: str, lines: str, wanted: str) -> None:
    assert told(sheet, lines.split(" | ")) == sorted(wanted.split())
