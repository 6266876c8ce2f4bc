"""Single hard situations, each told to a builder of its own after the few utterances it needs before it.

``data/fresh/NAME.yaml`` is a list of [utterances before, words, print, label] for the shipped sheet
that ``NAME.sheet`` names; labels as in ``bench_jobs.py``. ``python -m tests.extract.bench_situations``
prints rows of the table in ``data/fresh/FIRST_RUN.md``, with ``--faults`` what went wrong as well.
"""

from __future__ import annotations

import copy
import sys
from pathlib import Path
from typing import NamedTuple

import yaml

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance
from tests.extract.bench_jobs import FRESH, Score, run_of_now, score_utterance, sheet_of, table_row


class Situation(NamedTuple):
    """One utterance, what was said before it, and what it must give."""

    before: tuple[str, ...]
    words: str
    printed: str
    label: str


def situations_in(folder: Path) -> tuple[str, ...]:
    """Return the names of all sets of situations of a folder."""
    return tuple(sorted(path.stem for path in folder.glob("utterances-*.yaml")))


def read_situations(name: str) -> list[Situation]:
    """Return the situations of a set."""
    lines = yaml.safe_load((FRESH / f"{name}.yaml").read_text("utf-8"))
    return [
        Situation(tuple(str(word) for word in before), str(words), str(printed), str(label))
        for before, words, printed, label in lines
    ]


def score_situations(name: str, *, printed: bool = False) -> Score:
    """Tell every situation of a set to a new builder and score its last utterance."""
    sheet = load_job_sheet(sheet_of(name))
    pristine = RecordBuilder(sheet)
    score = Score()
    for n, situation in enumerate(read_situations(name), 1):
        builder = _another(pristine)
        for at, said in enumerate(situation.before):
            builder.hear(Utterance(said, at * 6.0, at * 6.0 + 4.0))
        words = situation.printed if printed else situation.words
        where = f"{name} {n} {list(situation.before) or ''}"
        score_utterance(score, builder, where, words, situation.label, len(situation.before))
    return score


def _another(pristine: RecordBuilder) -> RecordBuilder:
    """Return a builder that has heard nothing, with the big tables of another that has heard nothing."""
    shared = ("sheet", "_pipeline", "_readings")
    return copy.deepcopy(pristine, {id(vars(pristine)[name]): vars(pristine)[name] for name in shared})


def main(arguments: list[str]) -> None:
    """Print the rows of the named sets, or of all; with ``--faults`` each fault below."""
    faults = "--faults" in arguments
    when, commit = run_of_now()
    for name in [a for a in arguments if a != "--faults"] or situations_in(FRESH):
        for printed in (False, True):
            score = score_situations(name, printed=printed)
            print(table_row(name, score, printed=printed, when=when, commit=commit))
            if faults:
                print("\n".join(f"    {fault}" for fault in score.faults))


if __name__ == "__main__":
    main(sys.argv[1:])
