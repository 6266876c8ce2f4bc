"""The summary on the screen."""

from __future__ import annotations

import io

import pytest

from api.report.prepare import prepare_view
from api.screen import print_summary, printable, summary_lines
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord


class _Screen(io.TextIOWrapper):
    def __init__(self, encoding: str, *, terminal: bool = False) -> None:
        super().__init__(io.BytesIO(), encoding=encoding)
        self._terminal = terminal

    def isatty(self) -> bool:
        return self._terminal

    def shown(self) -> str:
        self.flush()
        self.seek(0)
        return self.read()


def test_the_summary_shows_readings_decisions_deviations_gaps_and_questions(
    record: RebuildRecord, sheet: JobSheet
) -> None:
    lines = summary_lines(prepare_view(record, sheet))
    for heading in (
        "READINGS AS FOUND",
        "READINGS AS LEFT",
        "PART DECISIONS",
        "DEVIATIONS",
        "QUESTIONS",
        "NEVER SAID",
        "CAUTIONS",
    ):
        assert heading in lines
    text = " ".join(" ".join(lines).split())
    for words in (
        "vane four 0.025 in ✗ OUTSIDE", "vane one 0.016 in ✓ within 0.012 to 0.024 in 2:00",
        "0.0019 in ? undecided",
        "Lip seals reused sheet: renew 4:12", "photo of the rotating face 0:12",
        "thirteen or thirty thousandths?",
    ):  # fmt: skip
        assert words in text
    assert lines[-1].endswith("does not authorise.")


@pytest.mark.parametrize("width", [72, 80, 100, 120])
def test_lines_fit_the_screen_and_no_word_is_lost(record: RebuildRecord, sheet: JobSheet, width: int) -> None:
    record.deviations[0].text = "a long deviation " * 20
    view = prepare_view(record, sheet)
    lines = summary_lines(view, width)
    assert max(map(len, lines)) <= width
    wide = " ".join(summary_lines(view, 400)).split()
    assert sorted(" ".join(lines).split()) == sorted(wide)


def test_a_number_stays_with_its_unit(record: RebuildRecord, sheet: JobSheet) -> None:
    for width in range(72, 120, 7):
        for line in summary_lines(prepare_view(record, sheet), width):
            assert line.split()[:1] not in (["in"], ["psi"], ["ft·lb"])


@pytest.mark.parametrize(("columns", "widest"), [("90", 90), ("300", 120), ("10", 72)])
def test_a_terminal_is_filled_as_far_as_it_can_be_read(
    record: RebuildRecord, sheet: JobSheet, monkeypatch: pytest.MonkeyPatch, columns: str, widest: int
) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    monkeypatch.setenv("NO_COLOR", "1")
    record.deviations[0].text = "a long deviation " * 20
    terminal, file = _Screen("utf-8", terminal=True), _Screen("utf-8")
    for screen in (terminal, file):
        print_summary(prepare_view(record, sheet), screen)
    assert widest - 8 <= max(map(len, terminal.shown().splitlines())) <= widest
    assert max(map(len, file.shown().splitlines())) <= 100


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "utf-8"])
def test_a_terminal_of_any_encoding_prints_the_verdicts(
    record: RebuildRecord, sheet: JobSheet, encoding: str
) -> None:
    screen = _Screen(encoding)
    print_summary(prepare_view(record, sheet), screen)
    shown = screen.shown()
    assert "OUTSIDE" in shown
    assert "\x1b" not in shown


def test_colour_is_only_for_terminals_and_changes_no_word(
    record: RebuildRecord, sheet: JobSheet, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    screen = _Screen("utf-8", terminal=True)
    print_summary(prepare_view(record, sheet), screen)
    assert "\x1b[31m\x1b[1m✗\x1b[0m OUTSIDE" in screen.shown()


@pytest.mark.parametrize(("name", "value"), [("NO_COLOR", "1"), ("TERM", "dumb")])
def test_whoever_wants_no_colour_gets_none(
    record: RebuildRecord, sheet: JobSheet, monkeypatch: pytest.MonkeyPatch, name: str, value: str
) -> None:
    monkeypatch.setenv(name, value)
    screen = _Screen("utf-8", terminal=True)
    print_summary(prepare_view(record, sheet), screen)
    assert "\x1b" not in screen.shown()


def test_printable_keeps_what_can_be_printed() -> None:
    assert printable("✓ 25 µm", "utf-8") == "✓ 25 µm"
    assert printable("✓ 25 µm", "ascii") == "+ 25 um"
    assert printable("✓ 25 µm", None) == "✓ 25 µm"
