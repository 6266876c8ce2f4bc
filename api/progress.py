"""How far the work is, on standard error: a bar on a terminal, else a line now and then."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from types import TracebackType
from typing import Protocol, TextIO

_LINE_EVERY_S = 15.0


class Progress(Protocol):
    """Told how many seconds of sound are done."""

    def passed(self, audio_s: float) -> None:
        """Say what earlier work had done already; it does not count into the rate."""

    def done(self, audio_s: float) -> None:
        """Say how far the work is, in seconds from the start of the recording."""

    def __enter__(self) -> Progress:
        """Begin."""

    def __exit__(
        self, kind: type[BaseException] | None, exc: BaseException | None, at: TracebackType | None
    ) -> None:
        """End, however the work ended."""


def progress_on(stream: TextIO | None = None, *, total_s: float | None, quiet: bool = False) -> Progress:
    """Return the progress display that fits a stream.

    Args:
        stream: standard error by default.
        total_s: length of the recording; None where unknown.
        quiet: show nothing.
    """
    stream = stream or sys.stderr
    if not quiet and stream.isatty():
        return _Bar(stream, total_s)
    return Lines(stream, total_s, every_s=float("inf") if quiet else _LINE_EVERY_S)


class _Pace:
    """What was done in this run and how long it took."""

    def __init__(self, total_s: float | None, now: Callable[[], float]) -> None:
        self.total_s = total_s
        self._now = now
        self._from_s = 0.0
        self._began = now()

    def start_over(self, audio_s: float) -> None:
        self._from_s, self._began = audio_s, self._now()

    def line(self, audio_s: float) -> str:
        return progress_line(audio_s, self.total_s, audio_s - self._from_s, self._now() - self._began)


class Lines:
    """One plain line every few seconds."""

    def __init__(
        self,
        stream: TextIO,
        total_s: float | None,
        *,
        every_s: float = _LINE_EVERY_S,
        now: Callable[[], float] = time.monotonic,
    ) -> None:
        self._stream = stream
        self._every_s = every_s
        self._now = now
        self._pace = _Pace(total_s, now)
        self._told = now()

    def passed(self, audio_s: float) -> None:
        """Say what earlier work had done already; it does not count into the rate."""
        self._pace.start_over(audio_s)

    def done(self, audio_s: float) -> None:
        """Say how far the work is; prints when the last line is old enough."""
        if self._now() - self._told >= self._every_s:
            self._told = self._now()
            print(self._pace.line(audio_s), file=self._stream)

    def __enter__(self) -> Lines:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, exc: BaseException | None, at: TracebackType | None
    ) -> None:
        self._stream.flush()


class LineNowAndThen:
    """One plain line whenever it says something new, but not more often than every few seconds."""

    def __init__(
        self, stream: TextIO, *, every_s: float = _LINE_EVERY_S / 3, now: Callable[[], float] = time.monotonic
    ) -> None:
        self._stream, self._every_s, self._now = stream, every_s, now
        self._last, self._told = "", now() - every_s

    def say(self, line: str) -> None:
        """Print a line, unless it is the last one again or the last one is too young."""
        if line != self._last and self._now() - self._told >= self._every_s:
            self._last, self._told = line, self._now()
            print(line, file=self._stream, flush=True)


class _Bar:
    """A bar that moves; nothing of it stays when the work is done."""

    def __init__(self, stream: TextIO, total_s: float | None) -> None:
        from rich.console import Console
        from rich.progress import BarColumn, TextColumn
        from rich.progress import Progress as RichProgress

        self._pace = _Pace(total_s, time.monotonic)
        self._rich = RichProgress(
            # Narrow enough that bar and words fit a line of 80 columns.
            BarColumn(bar_width=12), TextColumn("{task.description}"),
            console=Console(file=stream), transient=True,
        )  # fmt: skip
        self._task = self._rich.add_task("listening", total=total_s)

    def passed(self, audio_s: float) -> None:
        self._pace.start_over(audio_s)
        self._rich.update(self._task, completed=audio_s)

    def done(self, audio_s: float) -> None:
        self._rich.update(self._task, completed=audio_s, description=self._pace.line(audio_s))

    def __enter__(self) -> _Bar:
        self._rich.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, exc: BaseException | None, at: TracebackType | None
    ) -> None:
        self._rich.stop()


def progress_line(audio_s: float, total_s: float | None, worked_s: float, elapsed_s: float) -> str:
    """Return how far the work is in words.

    Args:
        audio_s: seconds of the recording that are done.
        total_s: seconds of the whole recording, or None.
        worked_s: seconds of the recording done in this run.
        elapsed_s: wall time of this run, seconds.
    """
    whole = f" of {total_s / 60:.1f}" if total_s else ""
    text = f"{audio_s / 60:.1f}{whole} audio minutes done"
    if elapsed_s <= 0 or worked_s <= 0:
        return text
    rate = worked_s / elapsed_s
    text += f", {rate:.1f} times real time"
    if total_s:
        left_s = max(0.0, total_s - audio_s) / rate
        text += f", {left_s / 60:.0f} min left" if left_s >= 90 else f", {left_s:.0f} s left"
    return text
