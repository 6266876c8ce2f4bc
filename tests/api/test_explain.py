"""``witnessmark extract --explain``: the path from words to entries on the screen and as JSON."""

from __future__ import annotations

import io
import json
import sys

import pytest

from api.cli import run
from api.explanation_text import explanation_lines
from api.failure import DONE, NOT_DONE
from extract.explainer import Explainer
from extract.record_builder import RecordBuilder
from shared.speech import Utterance

SHEET = "wash-water-end-suction"
SAID = """front clearance vane one thirty one thou
grab a sandwich
# a comment

vane two thirty, no, thirty two
the last pump had an end play of five thou
"""


def explained(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], said: str, *options: str
) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(said.encode())))
    status = run(["extract", "-", "--sheet", SHEET, *options])
    out, err = capsys.readouterr()
    return status, out, err


def test_each_utterance_is_laid_out_for_a_person(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, _ = explained(monkeypatch, capsys, SAID, "--explain")
    assert status == DONE
    assert [line[:2] for line in out.splitlines() if line[:1].isdecimal()] == ["1 ", "2 ", "3 ", "4 "]
    for wanted in (
        "bare number: in refused",
        "measured front clearance",
        "chatter: nothing is filed of it it names nothing",
        "rule: reading: item said; position named; unit said: thou",
        "replaced by r3",
        "LEFT OUT",
        "of another machine or time",
    ):
        assert wanted in " ".join(out.split())
    assert max(map(len, out.splitlines())) <= 100
    assert not [word for word in ("Mention", "Quantity", "Fraction(", "None", "_clearance") if word in out]


def test_one_line_can_be_chosen(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = explained(monkeypatch, capsys, SAID, "--explain", "--line", "3", "--json")
    assert status == DONE
    (shown,) = json.loads(out)["explained"]
    assert (shown["utterance"], shown["words"]) == (2, "vane two thirty, no, thirty two")
    assert shown["before"] == ["measured: front clearance", "unit said last for it: thou", "stage: as left"]
    assert [o["id"] for o in shown["outcomes"] if o["kind"] == "reading"] == ["r2", "r3"]


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--line", "1"), "--line goes with --explain"),
        (("--explain", "--line", "9"), "--line 9: the text has 4 utterances"),
        (("--explain", "--line", "0"), "0 is not in the range"),
    ],
)
def test_a_line_that_cannot_be_shown_is_refused(
    options: tuple[str, ...], told: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, err = explained(monkeypatch, capsys, SAID, *options)
    assert (status, out, err.count("\n")) == (NOT_DONE, "", 1)
    assert told in err


def test_control_signs_never_reach_the_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    status, out, _ = explained(monkeypatch, capsys, "end play \x1b[31m\u202e ½ thou\n", "--explain")
    assert status == DONE
    assert all(sign.isprintable() for line in out.splitlines() for sign in line)


def test_a_text_without_an_end_is_shown_in_short(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    said = "front clearance vane one thirty one thou and the carbon is not cracked " * 42
    status, out, _ = explained(monkeypatch, capsys, said, "--explain")
    assert status == DONE
    assert len(out.splitlines()) < 700
    assert "more; --json shows all" in out
    assert (
        len(
            json.loads(explained(monkeypatch, capsys, said, "--explain", "--json")[1])["explained"][0][
                "tokens"
            ]
        )
        > 500
    )


def test_lines_keep_to_a_narrow_screen() -> None:
    explainer = Explainer(RecordBuilder(SHEET).sheet)
    builder = RecordBuilder(SHEET, observer=explainer)
    builder.hear(Utterance("front clearance vane one thirteen or thirty, vane two one eighty", 0, 5))
    (shown,) = explainer.finish(builder.record())
    assert max(map(len, explanation_lines(shown, 72))) <= 72
