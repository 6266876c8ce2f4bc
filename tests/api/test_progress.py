"""Progress: minutes done, rate and time left, on any kind of standard error."""

from __future__ import annotations

import io

import pytest

from api.progress import Lines, progress_line, progress_on

TEN = "10.0 times real time, "


@pytest.mark.parametrize(
    ("audio_s", "total_s", "worked_s", "elapsed_s", "line"),
    [
        (0.0, 3600.0, 0.0, 1.0, "0.0 of 60.0 audio minutes done"),
        (600.0, 3600.0, 600.0, 60.0, "10.0 of 60.0 audio minutes done, " + TEN + "5 min left"),
        # Taken up at 30 minutes: the rate counts this run only.
        (2400.0, 3600.0, 600.0, 60.0, "40.0 of 60.0 audio minutes done, " + TEN + "2 min left"),
        (3300.0, 3600.0, 3300.0, 330.0, "55.0 of 60.0 audio minutes done, " + TEN + "30 s left"),
        (120.0, None, 120.0, 60.0, "2.0 audio minutes done, 2.0 times real time"),
    ],
)
def test_progress_says_minutes_rate_and_time_left(
    audio_s: float, total_s: float | None, worked_s: float, elapsed_s: float, line: str
) -> None:
    assert progress_line(audio_s, total_s, worked_s, elapsed_s) == line


class _Clock:
    def __init__(self) -> None:
        self.now_s = 0.0

    def __call__(self) -> float:
        return self.now_s


def test_a_line_comes_only_now_and_then() -> None:
    clock, stream = _Clock(), io.StringIO()
    with Lines(stream, 600.0, now=clock) as progress:
        for clock.now_s, audio_s in ((1.0, 10.0), (16.0, 160.0), (17.0, 170.0), (40.0, 400.0)):
            progress.done(audio_s)
    assert [line.split()[0] for line in stream.getvalue().splitlines()] == ["2.7", "6.7"]


def test_what_earlier_work_did_does_not_count_into_the_rate() -> None:
    clock, stream = _Clock(), io.StringIO()
    progress = Lines(stream, 600.0, now=clock)
    clock.now_s = 1.0
    progress.passed(300.0)
    clock.now_s = 21.0
    progress.done(400.0)
    assert "5.0 times real time" in stream.getvalue()


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_a_terminal_gets_a_bar_and_a_pipe_gets_lines() -> None:
    terminal = _Terminal()
    with progress_on(terminal, total_s=60.0) as progress:
        progress.passed(30.0)
        progress.done(60.0)
    assert "1.0 of 1.0 audio minutes done" in terminal.getvalue()
    assert isinstance(progress_on(io.StringIO(), total_s=60.0), Lines)


def test_quiet_shows_nothing() -> None:
    stream = _Terminal()
    with progress_on(stream, total_s=60.0, quiet=True) as progress:
        progress.done(60.0)
    assert stream.getvalue() == ""
