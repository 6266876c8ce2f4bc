"""The report: one view printed as page and as PDF/A-3, with nothing spoken ever becoming code."""

from __future__ import annotations

import io
import re
import subprocess
import xml.etree.ElementTree as ET
from html.parser import HTMLParser
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pytest

from api.report.document import report_pdf
from api.report.page import report_html
from api.report.prepare import prepare_view
from api.screen import summary_lines
from shared.errors import ReportError
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord
from shared.speech import Utterance
from tests.conftest import need_program

HOSTILE = "<script>alert(1)</script> #panic() $x$ *b* \\ @ref `raw` [x](y) & \" ' {{ 7*7 }} //"


@pytest.fixture
def picture() -> bytes:
    ok, data = cv2.imencode(".jpg", np.full((48, 64, 3), 128, np.uint8))
    assert ok
    return data.tobytes()


class _Page(HTMLParser):
    """Tags, links and text of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.sources: list[str] = []
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.sources += [value or "" for name, value in attrs if name in ("src", "href", "action")]

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_needs_nothing_but_itself(record: RebuildRecord, sheet: JobSheet, picture: bytes) -> None:
    page = report_html(prepare_view(record, sheet), {"pictures/impeller.jpg": picture})
    parsed = _Page(page)
    assert "script" not in parsed.tags
    assert "link" not in parsed.tags
    assert [source.split(",")[0] for source in parsed.sources] == ["data:image/jpeg;base64"]
    assert "url(http" not in page
    assert "@import" not in page


def test_the_summary_comes_before_everything_else(record: RebuildRecord, sheet: JobSheet) -> None:
    text = _Page(report_html(prepare_view(record, sheet), {})).text
    order = [
        "Needs answers", "What stands out", "Cautions", "As found", "As left", "Parts", "Pictures",
        "Deviations", "Open", "Shop calculations (advice)", "Numbers heard but not filed",
        "Gauges used", "How this record was made",
    ]  # fmt: skip
    places = [text.index(f"{title}\n") if f"{title}\n" in text else text.index(title) for title in order]
    assert places == sorted(places)


def test_isolation_and_decontamination_lead_the_cautions(record: RebuildRecord, sheet: JobSheet) -> None:
    view = prepare_view(record, sheet)
    # 29 CFR 1910.147(d): isolate, lock or tag, relieve stored energy, verify (read in a reprint).
    assert all(
        word in view.cautions[0] for word in ("isolates", "locks or tags", "stored energy", "verifies")
    )
    assert "decontaminate" in view.cautions[1]
    assert view.closing.endswith("this record advises and does not authorise.")
    assert view.sheet_cautions == [caution.text for caution in sheet.cautions]


def test_the_report_never_says_that_the_pump_is_accepted(record: RebuildRecord, sheet: JobSheet) -> None:
    settled = record.model_copy(
        update={"questions": [], "missing": [], "readings": record.readings[:2], "conditions": []}
    )
    for made, standing in ((record, "Needs answers"), (settled, "Ready for review")):
        view = prepare_view(made, sheet)
        assert view.standing == standing
        assert "Not accepted: a reviewer decides" in view.standing_text
        assert not re.search(r"(?<!not )accepted", _Page(report_html(view, {})).text.lower())


def test_an_unsure_entry_alone_keeps_a_record_from_being_ready(
    record: RebuildRecord, sheet: JobSheet
) -> None:
    unsure = record.model_copy(update={"questions": [], "missing": []})
    view = prepare_view(unsure, sheet)
    assert not view.ready
    assert "unsure entry" in view.standing_text


def test_every_entry_of_the_record_is_in_both_reports(record: RebuildRecord, sheet: JobSheet) -> None:
    need_program("pdftotext")
    talk = [Utterance("the talk itself", 61.0, 62.0)]
    view = prepare_view(record, sheet, talk)
    page = " ".join(_Page(report_html(view, {})).text.split())
    pdf = subprocess.run(
        ["pdftotext", "-layout", "-", "-"], input=report_pdf(view, {}, record.to_json().encode()),
        capture_output=True, check=True,
    ).stdout.decode()  # fmt: skip
    pdf = " ".join(pdf.split())
    for wanted in (
        "5027", "P-412", "1.8710 in", "OUTSIDE", "0.013 in or 0.030 in?", "thirteen or thirty",
        "torque wrench TW-07",
        "Lip seals reused; the sheet says renew", "use as is", "pictures/seat.jpg",
        "out of focus", "90 ft·lb",
        "breaking loose is no reading", "struck on command", "coupling guard", "1:01", "the talk itself",
        "Rotate by hand", "W-208", "Thread locker", "no witness named",
    ):  # fmt: skip
        assert wanted.lower() in page.lower(), wanted
        # In narrow columns of the PDF other text may stand between two words.
        assert all(word.lower() in pdf.lower() for word in wanted.split()), wanted


def test_what_was_said_is_never_code(record: RebuildRecord, sheet: JobSheet) -> None:
    need_program("pdftotext")
    hostile = record.model_copy(deep=True)
    hostile.deviations[0].text = HOSTILE
    hostile.readings[0].evidence.words = HOSTILE
    hostile.questions[0].text = HOSTILE
    hostile.job.technician = HOSTILE
    view = prepare_view(hostile, sheet, [Utterance(HOSTILE, 0.0, 1.0)])
    parsed = _Page(report_html(view, {}))
    assert "script" not in parsed.tags
    assert parsed.text.count("<script>alert(1)</script>") >= 5
    pdf = report_pdf(view, {}, hostile.to_json().encode())
    text = subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
    assert "#panic()" in text
    assert "{{ 7*7 }}" in " ".join(text.split())


def test_the_pdf_is_archival_and_carries_the_record(
    record: RebuildRecord, sheet: JobSheet, picture: bytes
) -> None:
    data = record.to_json().encode()
    pdf = report_pdf(prepare_view(record, sheet), {"pictures/impeller.jpg": picture}, data)
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert list(document.attachments) == ["record.json"]
        attached = document.attachments["record.json"]
        assert attached.get_file().read_bytes() == data
        assert attached.get_file().mime_type == "application/json"
        # ISO 19005-3: identified in the metadata, every embedded file tied to the document by /AF.
        metadata = document.open_metadata()
        assert (metadata["pdfaid:part"], metadata["pdfaid:conformance"]) == ("3", "B")
        assert attached.obj.get("/AFRelationship") == "/Data"
        assert len(document.Root.AF) == 1
        assert document.Root.OutputIntents[0].S == "/GTS_PDFA1"
        assert all("/FontFile" in "".join(map(str, f.keys())) for f in _font_descriptors(document))


def _font_descriptors(document: pikepdf.Pdf) -> list[pikepdf.Dictionary]:
    found = [
        o
        for o in document.objects
        if isinstance(o, pikepdf.Dictionary) and o.get("/Type") == "/FontDescriptor"
    ]
    assert found
    return found


def test_the_same_record_gives_the_same_bytes(record: RebuildRecord, sheet: JobSheet, picture: bytes) -> None:
    data = record.to_json().encode()
    view = prepare_view(record, sheet)
    pictures = {"pictures/impeller.jpg": picture}
    assert report_pdf(view, pictures, data) == report_pdf(view, pictures, data)
    assert report_html(view, pictures) == report_html(view, pictures)


@pytest.mark.parametrize(
    ("job", "date"),
    [
        ({}, "D:19700101"),
        ({"started": "2026-11-25T08:00:00+00:00"}, "D:20261125"),
        ({"started": "2026-11-25T08:00:00+00:00", "ended": "2026-11-26T01:30:00+02:00"}, "D:20261125233000"),
        ({"ended": "some time"}, "D:19700101"),
    ],
)
def test_the_document_is_dated_by_the_work_not_by_the_clock(
    record: RebuildRecord, sheet: JobSheet, job: dict[str, str], date: str
) -> None:
    dated = record.model_copy(update={"job": record.job.model_copy(update=job)})
    pdf = report_pdf(prepare_view(dated, sheet), {}, dated.to_json().encode())
    with pikepdf.open(io.BytesIO(pdf)) as document:
        assert str(document.docinfo["/CreationDate"]).startswith(date)


def test_a_damaged_picture_is_a_report_error(record: RebuildRecord, sheet: JobSheet) -> None:
    with pytest.raises(ReportError, match="could not be typeset"):
        report_pdf(
            prepare_view(record, sheet),
            {"pictures/impeller.jpg": b"\xff\xd8\xff and no more"},
            record.to_json().encode(),
        )


def test_a_picture_that_is_gone_is_named(record: RebuildRecord, sheet: JobSheet) -> None:
    assert "is not in the folder" in report_html(
        prepare_view(record, sheet), {"pictures/impeller.jpg": b"GARBAGE"}
    )


def test_an_empty_record_still_makes_a_report(sheet: JobSheet, record: RebuildRecord) -> None:
    empty = RebuildRecord(made_by=record.made_by, job=record.job.model_copy(update={"work_order": None}))
    view = prepare_view(empty, sheet)
    assert "not said" in _Page(report_html(view, {})).text
    assert report_pdf(view, {}, empty.to_json().encode()).startswith(b"%PDF-")


def test_text_without_times_shows_numbers_instead_of_seconds(record: RebuildRecord, sheet: JobSheet) -> None:
    from api.narration import UNTIMED

    untimed = record.model_copy(update={"made_by": record.made_by.model_copy(update={"engine": UNTIMED})})
    view = prepare_view(untimed, sheet)
    assert view.found[0].rows[0].heard.when == "no. 4"
    assert {line.when for line in view.missing} == {""}


def test_drawings_are_well_formed_and_tell_verdicts_by_shape(record: RebuildRecord, sheet: JobSheet) -> None:
    view = prepare_view(record, sheet)
    plots = {group.name: ET.fromstring(group.plot) for group in [*view.found, *view.left] if group.plot}
    ns = "{http://www.w3.org/2000/svg}"
    runout, clearance = plots["Shaft runout"], plots["Front clearance"]
    rings = [c for c in runout.iter(f"{ns}circle") if c.get("fill") == "#ffffff"]
    assert len(rings) == 1  # the undecided one
    crosses = [p for p in clearance.iter(f"{ns}path") if p.get("stroke-width") == "2.6"]
    assert len(crosses) == 1  # the one outside
    labels = [t.text for t in clearance.iter(f"{ns}text")]
    assert labels.count("not said") == 1
    assert labels.count("asked") == 1


def test_a_reading_stands_where_its_value_says(record: RebuildRecord, sheet: JobSheet) -> None:
    """Linear scale: vane two (0.019) lies a twelfth of the band above nominal 0.018 (band 0.012 to 0.024)."""
    view = prepare_view(record, sheet)
    svg = next(group.plot for group in view.left if group.name == "Front clearance")
    assert svg is not None
    root = ET.fromstring(svg)
    ns = "{http://www.w3.org/2000/svg}"
    texts = {
        t.text: float(t.get("y", "0")) - 4
        for t in root.iter(f"{ns}text")
        if t.text in ("0.012", "0.018", "0.024")
    }
    dots = [float(c.get("cy", "0")) for c in root.iter(f"{ns}circle") if c.get("fill") != "#ffffff"]
    band = texts["0.012"] - texts["0.024"]
    assert texts["0.018"] == pytest.approx(texts["0.012"] - band / 2, abs=0.2)
    assert dots == pytest.approx([texts["0.018"] + band * 2 / 12, texts["0.018"] - band / 12], abs=0.2)


def test_reports_are_typeset_in_fonts_of_the_wheel(
    record: RebuildRecord, sheet: JobSheet, tmp_path: Path
) -> None:
    need_program("pdffonts")
    path = tmp_path / "r.pdf"
    path.write_bytes(report_pdf(prepare_view(record, sheet), {}, record.to_json().encode()))
    listed = subprocess.run(["pdffonts", str(path)], capture_output=True, text=True, check=True).stdout
    names = {line.split()[0].split("+")[-1] for line in listed.splitlines()[2:]}
    assert {re.split(r"[-,]", name)[0] for name in names} <= {"LibertinusSerif", "DejaVuSansMono"}


def test_shop_calculations_stand_beside_what_they_use(record: RebuildRecord, sheet: JobSheet) -> None:
    view = prepare_view(record, sheet)
    row = next(row for row in view.advice.rows if "probability" in row.text)
    assert (row.about, row.when, row.ask) == ("Shaft runout", "1:00", "")
    assert any("JCGM 106" in fact.value for fact in view.advice.sources)
    page = report_html(view, {})
    pdf = pikepdf.open(io.BytesIO(report_pdf(view, {}, record.to_json().encode())))
    assert len(pdf.pages) >= 1
    assert row.text in _Page(page).text


def test_advice_that_has_to_be_asked_about_is_one_line(record: RebuildRecord, sheet: JobSheet) -> None:
    torque = record.readings[0].model_copy(
        update={"id": "r90", "item": "gland_nut_torque", "position": None, "unit": "ft_lb",
                "value_exact": "12", "stage": "as_left", "verdict": "within"}
    )  # fmt: skip
    more = [
        record.consumables[0].model_copy(update={"id": f"k9{n}", "name": "anti_seize", "applied_to": part})
        for n, part in enumerate(("gland_nuts", "impeller_bolt"))
    ]
    view = prepare_view(
        record.model_copy(update={"readings": [*record.readings, torque], "consumables": more}), sheet
    )
    (line,) = [highlight for highlight in view.highlights if highlight.kind == "advice"]
    assert line.symbol == "!"
    assert "anti-seize on a torque that names" in line.text
    (screen,) = [text for text in summary_lines(view, 200) if text.strip().startswith("! advice")]
    assert line.text in screen
    assert not [h for h in prepare_view(record, sheet).highlights if h.kind == "advice"]
