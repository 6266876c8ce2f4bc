"""Every line is one JSON object, and nothing that somebody said, typed or is called gets into it."""

from __future__ import annotations

import ast
import json
import logging
import signal
import threading
import warnings
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from api.live import ear_process, early_process
from api.live.ear_process import EarWork, run_ear
from api.live.early_process import run_early
from api.operation.log_lines import FIELDS, log_event
from shared.errors import NotKept
from shared.job_sheet import load_job_sheet
from shared.record import Job
from shared.settings import Settings

Lines = Callable[[], list[dict[str, Any]]]
ROOT = Path(__file__).parents[3]
OURS = logging.getLogger("api.live.desk")
SECRET = "brontosaurus"


def test_an_event_is_a_line_with_figures_beside_it(lines: Lines) -> None:
    log_event(OURS, logging.INFO, "recording_ended", job="0a1b", readings=3, seconds=1.5)
    (line,) = lines()
    at = line.pop("at")
    assert at.endswith("+00:00")
    assert line == {
        "level": "info", "from": "api.live.desk", "event": "recording_ended", "job": "0a1b", "readings": 3,
        "seconds": 1.5,
    }  # fmt: skip


@pytest.mark.parametrize(
    "write",
    [
        lambda: log_event(OURS, logging.INFO, "heard", words=SECRET, who=SECRET),
        lambda: log_event(OURS, logging.INFO, "heard", job=f"two {SECRET}", route=[SECRET]),
        lambda: OURS.warning("he said %s", SECRET),
        lambda: OURS.warning(f"he said {SECRET}"),
        lambda: logging.getLogger("some.library").error(SECRET),
        lambda: logging.getLogger("uvicorn.error").error("invalid: %s", SECRET),
        lambda: logging.getLogger("asyncio").error(f"future {SECRET}"),
        lambda: warnings.warn(SECRET, stacklevel=1),
    ],
)
def test_what_somebody_said_gets_into_no_line(
    write: Callable[[], None], lines: Lines, recwarn: pytest.WarningsRecorder
) -> None:
    # pytest keeps warnings to itself: with its own filters in force they go where the server has them go.
    with warnings.catch_warnings():
        logging.captureWarnings(False)
        logging.captureWarnings(True)
        warnings.simplefilter("always")
        write()
    (line,) = lines()
    assert SECRET not in json.dumps(line)


def test_an_exception_is_told_without_its_message(lines: Lines) -> None:
    try:
        try:
            raise KeyError(SECRET)
        except KeyError as exc:
            raise NotKept(f"there is no {SECRET}", where=SECRET) from exc
    except NotKept:
        OURS.exception("retention_failed")
    (line,) = lines()
    assert SECRET not in json.dumps(line)
    assert (line["event"], line["exception"], line["code"]) == ("retention_failed", "NotKept", "not-kept")
    assert line["because_of"] == ["KeyError"]
    assert line["at_lines"][0].startswith("tests/api/operation/test_log_lines.py:")


def test_a_thread_that_stops_is_told_without_its_message(lines: Lines) -> None:
    def stop() -> None:
        raise ValueError(SECRET)

    thread = threading.Thread(target=stop)
    thread.start()
    thread.join()
    (line,) = lines()
    assert SECRET not in json.dumps(line)
    assert (line["event"], line["exception"]) == ("thread_stopped", "ValueError")


class _Pipe:
    def send(self, what: object) -> None:
        raise AssertionError("nothing is told where a process has a bug")

    def close(self) -> None:
        pass


@pytest.mark.parametrize(
    ("module", "run", "event"),
    [(ear_process, run_ear, "ear_stopped"), (early_process, run_early, "early_ear_stopped")],
)
def test_an_ear_with_a_bug_stops_without_its_words(
    module: Any, run: Any, event: str, lines: Lines, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path,
) -> None:  # fmt: skip
    def listen(work: object, pipe: object) -> None:
        raise ValueError(f"cannot read {SECRET!r}")

    monkeypatch.setattr(module, "_listen", listen)
    before = signal.getsignal(signal.SIGINT)
    sheet = load_job_sheet("wash-water-end-suction")
    run(EarWork(tmp_path, sheet, Job(), "scripted", None, Settings(), (), 0), _Pipe())
    signal.signal(signal.SIGINT, before)
    written = capsys.readouterr().err
    line = json.loads(written)
    assert SECRET not in written
    assert (line["event"], line["exception"]) == (event, "ValueError")


def test_no_field_can_be_written_that_the_list_does_not_hold() -> None:
    """Every call in the house names fields of the list only, so that none is silently left out."""
    calls = 0
    for path in (ROOT / "api").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "log_event":
                calls += 1
                named = {one.arg for one in node.keywords if one.arg}
                assert named <= FIELDS, f"{path}: {named - FIELDS}"
    assert calls >= 5
