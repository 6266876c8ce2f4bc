"""Rules of reading and their near misses, one a row of ``data/talk_rules.tsv``.

A row has the rule that it shows, the sheet (shipped, or a path from the root), the utterances parted by
``||`` and the labels that the last of them must give, as in ``bench_jobs.py``; "-" where it gives nothing.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.extract.bench_jobs import DATA, ROOT, labels_of_last

_TABLE = DATA / "talk_rules.tsv"
_SHIPPED = {"E": "wash-water-end-suction", "S": "wash-water-split-case", "M": "booster-multistage"}


def _rows() -> list[tuple[str, str, str, str]]:
    lines = _TABLE.read_text("utf-8").splitlines()
    cells = [line.split("\t") for line in lines if line and not line.startswith("#")]
    # By sheet: what a sheet's words are is learnt once for all of its rows.
    return [
        (rule, sheet, talk, labels) for rule, sheet, talk, labels in sorted(cells, key=lambda row: row[1])
    ]


def _sheet(name: str) -> Path | str:
    if name in _SHIPPED:
        return _SHIPPED[name]
    own = DATA / f"{name}.yaml"
    return own if own.exists() else ROOT / "fixtures/former_evaluation" / name / "sheet.yaml"


@pytest.mark.parametrize(("rule", "sheet", "talk", "labels"), _rows())
def test_a_rule_reads_what_it_should_and_no_near_miss(rule: str, sheet: str, talk: str, labels: str) -> None:
    wanted = {label.strip() for label in labels.split(";")} - {"-"}
    assert labels_of_last(_sheet(sheet), [line.strip() for line in talk.split("||")]) == wanted, rule
