"""What may be ticked under a question in the report."""

from __future__ import annotations

import pytest

from api.report.question_rows import question_row
from shared.job_sheet import JobSheet
from shared.record import Candidate, RebuildRecord


def value(text: str, **more: str) -> Candidate:
    return Candidate(value=float(text), value_exact=text, unit="in", **more)


ONE, TWO = Candidate(position="1"), Candidate(position="2")


@pytest.mark.parametrize(
    ("leading", "candidates", "choices"),
    [
        (None, [value("0.013"), value("0.03")], ["0.013 in", "0.030 in"]),
        ("0.013", [value("0.03"), value("0.08")], ["0.013 in", "0.030 in", "0.080 in"]),
        ("0.013", [value("0.03")], ["0.013 in", "0.030 in"]),
        ("0.013", [], ["yes", "no"]),
        (None, [value("0.013")], ["yes", "no"]),
        ("0.013", [Candidate(item="front_clearance"), value("0.013")], ["yes", "no"]),
        ("0.013", [ONE, TWO, value("0.013")], ["vane one", "vane two"]),
        ("0.013", [ONE, Candidate()], ["vane one", "something else"]),
        (
            None,
            [value("0.013", position="1"), value("0.113")],
            ["vane one 0.013 in", "0.113 in"],
        ),
        (None, [], []),
    ],
)
def test_only_what_is_in_doubt_may_be_ticked(
    record: RebuildRecord,
    sheet: JobSheet,
    leading: str | None,
    candidates: list[Candidate],
    choices: list[str],
) -> None:
    three = next(r for r in record.readings if r.position == "3")
    three.value, three.value_exact = (None, None) if leading is None else (float(leading), leading)
    question = record.questions[0].model_copy(update={"about": three.id, "candidates": candidates})
    assert question_row(record, sheet, question).choices == choices
