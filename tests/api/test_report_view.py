"""What a report says of a record: what stands out, what is open, what was never said."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from api.report.page import report_html
from api.report.plot import PlotPoint, positions_plot
from api.report.prepare import prepare_view
from api.report.view import ReadingRow
from api.run_process import found_status
from extract.paused_talk import PAUSED_RULE
from shared.job_sheet import JobSheet
from shared.record import EventEntry, Missing, NoteEntry, RebuildRecord
from tests.api.conftest import heard


def rows(record: RebuildRecord, sheet: JobSheet, name: str) -> list[ReadingRow]:
    view = prepare_view(record, sheet)
    return [row for group in [*view.found, *view.left] if group.name == name for row in group.rows]


def test_a_question_that_was_answered_in_the_talk_is_not_open(record: RebuildRecord, sheet: JobSheet) -> None:
    assert [q.text for q in prepare_view(record, sheet).questions] == [record.questions[0].text]
    record.questions[0].answered_by = "r14"
    record.deviations.clear()
    view = prepare_view(record, sheet)
    assert view.questions == []
    assert "question" not in view.standing_text
    assert not [line for line in view.highlights if line.kind == "question"]
    assert found_status(record, strict=True) == 0


def test_many_questions_leave_room_for_the_rest_of_the_summary(
    record: RebuildRecord, sheet: JobSheet
) -> None:
    record.questions *= 20
    view = prepare_view(record, sheet)
    asked = [line.text for line in view.highlights if line.kind == "question"]
    assert len(asked) == 9
    assert asked[-1] == "and 12 questions more, all under Open"
    assert len(view.questions) == 20
    assert "20 questions to answer" in view.standing_text


def test_a_pause_that_never_ended_stands_out(record: RebuildRecord, sheet: JobSheet) -> None:
    assert not [line for line in prepare_view(record, sheet).highlights if line.kind == "pause"]
    record.events.append(EventEntry(id="e3", event="pause", evidence=heard(30, "pause recording")))
    (line,) = [line for line in prepare_view(record, sheet).highlights if line.kind == "pause"]
    assert (line.text, line.when) == ("paused and never resumed: nothing said after it was filed", "6:00")
    record.events.append(EventEntry(id="e4", event="resume", evidence=heard(31, "resume recording")))
    assert not [line for line in prepare_view(record, sheet).highlights if line.kind == "pause"]


def test_job_talk_in_a_pause_stands_out(record: RebuildRecord, sheet: JobSheet) -> None:
    evidence = heard(30, "").model_copy(update={"rule": PAUSED_RULE})
    record.notes.append(NoteEntry(id="paused1", evidence=evidence, text="the job was said while paused"))
    (line,) = [line for line in prepare_view(record, sheet).highlights if line.kind == PAUSED_RULE]
    assert (line.text, line.when) == ("the job was said while paused", "6:00")


def test_pictures_that_cannot_be_used_stand_out(record: RebuildRecord, sheet: JobSheet) -> None:
    (line,) = [line for line in prepare_view(record, sheet).highlights if line.kind == "picture"]
    assert line.text == "not usable: Stationary seat (out of focus)"


def test_a_reading_of_which_nothing_was_said_has_its_row(record: RebuildRecord, sheet: JobSheet) -> None:
    record.readings = [r for r in record.readings if r.item != "shaft_runout"]
    record.missing[0].item, record.missing[0].position = "shaft_runout", "seal_area"
    assert [(row.value, row.verdict) for row in rows(record, sheet, "Shaft runout")] == [
        ("not said", "missing")
    ]


def test_an_unsure_reading_shows_everything_that_it_may_be(record: RebuildRecord, sheet: JobSheet) -> None:
    three = next(r for r in record.readings if r.position == "3")
    assert rows(record, sheet, "Front clearance")[2].value == "0.013 in or 0.030 in?"
    three.value, three.value_exact = 0.03, "0.030"
    assert rows(record, sheet, "Front clearance")[2].value == "0.030 in or 0.013 in?"
    three.needs_review = False
    assert rows(record, sheet, "Front clearance")[2].value == "0.030 in"


def test_a_part_that_was_only_taken_out_is_not_shown_as_decided(
    record: RebuildRecord, sheet: JobSheet
) -> None:
    record.parts[0].action = "removed"
    record.missing[1].part = "seal"
    (row,) = [row for row in prepare_view(record, sheet).parts if row.part == "Seal"]
    assert (row.decision, row.undecided) == ("removed", "renewed or reused not said")
    assert "renewed or reused not said" in report_html(prepare_view(record, sheet), {})


def test_marks_under_a_drawing_are_called_as_in_the_table(record: RebuildRecord, sheet: JobSheet) -> None:
    view = prepare_view(record, sheet)
    (group,) = [group for group in view.found if group.name == "Shaft runout"]
    assert group.plot is not None
    for row in group.rows:
        assert f">{row.position}</text>" in group.plot


def test_all_places_of_an_item_that_nobody_spoke_of_are_one_line(
    record: RebuildRecord, sheet: JobSheet
) -> None:
    places = sheet.measured["front_clearance"].positions
    text = "front clearance: no reading"
    record.readings = [r for r in record.readings if r.item != "front_clearance"]
    record.missing = [Missing(kind="reading", item="front_clearance", position=p, text=text) for p in places]
    view = prepare_view(record, sheet)
    assert [line.text for line in view.missing] == [f"Front clearance, all {len(places)} places"]
    assert f"{len(places)} things never said" in view.standing_text
    del record.missing[0]
    (line,) = prepare_view(record, sheet).missing
    assert line.text.startswith("Front clearance: vane two, vane three")


@pytest.mark.parametrize(
    ("values", "side"),
    [
        (("0.020", "0.014", "0.020"), 18),  # both neighbours' lines come from above
        (("0.014", "0.020", "0.014"), -9),
        (("0.016", "0.0165", "0.017"), 18),  # the nominal's line runs right above
    ],
)
def test_the_number_beside_a_mark_stands_clear_of_lines(
    sheet: JobSheet, values: tuple[str, str, str], side: float
) -> None:
    entry = sheet.measured["front_clearance"]
    points = [PlotPoint(str(n), Decimal(v), "within", v) for n, v in enumerate(values)]
    drawing = positions_plot(entry, points, "front clearance")
    (mark,) = re.findall(rf"cy='([\d.]+)'[^>]*/><text [^>]*y='[\d.]+'[^>]*>{values[1]}<", drawing)
    (text,) = re.findall(rf"y='([\d.]+)'[^>]*>{values[1]}<", drawing)
    assert float(text) - float(mark) == pytest.approx(side, abs=0.2)


def test_remarks_under_a_drawing_do_not_run_into_one_another(sheet: JobSheet) -> None:
    points = [PlotPoint(str(n), None, text="not said") for n in range(12)]
    drawing = positions_plot(sheet.measured["front_clearance"], points, "front clearance")
    sizes = {float(size) for size in re.findall(r"font-size='([\d.]+)'[^>]*>not said<", drawing)}
    # Twelve columns share 274 pixels; a letter is about half as wide as high.
    assert all(size / 2 * len("not said") <= 274 / 12 for size in sizes)
