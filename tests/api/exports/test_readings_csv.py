"""The readings as a table: RFC 4180, nothing that a spreadsheet would run."""

from __future__ import annotations

import csv
import io

import pytest

from api.exports.readings_csv import COLUMNS, readings_csv
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline=""), strict=True))


def test_every_standing_reading_is_a_line(record: RebuildRecord, sheet: JobSheet) -> None:
    found = {row["id"]: row for row in rows(readings_csv(record, sheet))}
    assert list(found) == [each.id for each in record.readings if each.standing]
    assert "r11" not in found
    line = found["r14"]
    assert (line["item"], line["position"], line["place"]) == ("front_clearance", "4", "vane four")
    assert (line["value"], line["unit"], line["verdict"]) == ("0.025", "in", "outside")
    assert (line["nominal"], line["lower"], line["upper"], line["uncertainty_k2"]) == (
        "0.018", "0.012", "0.024", "0.0005",
    )  # fmt: skip
    assert (line["work_order"], line["sheet"], line["start_s"]) == ("5027", "wash-water-end-suction", "168.0")


def test_an_unsure_reading_has_no_value_and_says_why(record: RebuildRecord, sheet: JobSheet) -> None:
    (line,) = [row for row in rows(readings_csv(record, sheet)) if row["needs_review"] == "yes"]
    assert (line["value"], line["reason"], line["verdict"]) == ("", "thirteen or thirty", "undecided")


def test_lines_end_as_the_rfc_says(record: RebuildRecord, sheet: JobSheet) -> None:
    """RFC 4180, section 2: CR LF after every record, the same number of fields in each."""
    text = readings_csv(record, sheet)
    assert text.endswith("\r\n")
    assert text.count("\n") == text.count("\r\n")
    assert {len(row) for row in csv.reader(io.StringIO(text, newline=""))} == {len(COLUMNS)}


@pytest.mark.parametrize("words", ['say "ten", then\nfive', "a,b", "comma, \r\n and line"])
def test_quotes_commas_and_line_ends_come_back(record: RebuildRecord, sheet: JobSheet, words: str) -> None:
    record.readings[0].evidence.words = words
    assert rows(readings_csv(record, sheet))[0]["words"] == words


@pytest.mark.parametrize(
    "words",
    ['=HYPERLINK("x")', "+1+1", "-2+3+cmd", "@SUM(A1)", "\t=1+1", " =1+1", "\r=1", "＝1+1", "|calc", "%0"],
)
def test_what_a_spreadsheet_would_run_is_text(record: RebuildRecord, sheet: JobSheet, words: str) -> None:
    record.readings[0].evidence.words = words
    record.job.pump_serial = words
    line = rows(readings_csv(record, sheet))[0]
    assert line["words"] == line["pump_serial"] == f"'{words}"


def test_a_negative_value_stays_a_number(record: RebuildRecord, sheet: JobSheet) -> None:
    record.readings[0].value, record.readings[0].value_exact = -0.0005, "-0.0005"
    assert rows(readings_csv(record, sheet))[0]["value"] == "-0.0005"


def test_a_reading_that_the_sheet_does_not_know_has_no_limits(record: RebuildRecord, sheet: JobSheet) -> None:
    record.readings[0].item = "something_else"
    record.readings[3].unit = "mm"
    found = rows(readings_csv(record, sheet))
    assert found[0]["upper"] == found[3]["upper"] == found[3]["nominal"] == ""
