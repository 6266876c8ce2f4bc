"""The words of chatter and of paused speech are in no file of the output folder, whenever it stopped."""

from __future__ import annotations

import json
import subprocess
import zlib
from pathlib import Path

import pikepdf
import pytest

from api.cli import run
from api.failure import DONE, NOT_DONE
from capture.engines.scripted import ScriptedEngine
from tests.api.processing import FILES, SHEET, Process, record_in, results
from tests.conftest import need_program

#: Words that only the planted sentences hold; none of them may be found anywhere.
PRIVATE = ("brontosaurus", "marmalade", "trombone", "flamingo", "xylophone", "pelican")
SAID: list[object] = [
    "work order is five oh two seven",
    # Chatter by its words; by the engine's score although it is full of job words; before a command.
    "did you hear the brontosaurus last night",
    {"text": "marmalade on the casing bolts ninety foot pounds", "job_score": -2.0},
    "front clearance vane one eighteen thou pause recording the trombone is for my wife",
    "another trombone and seal setting one and a sixteenth",
    "flamingo flamingo resume recording vane two nineteen",
    "oh that pelican. pause please. xylophone resume recording vane three twenty one",
]
KEPT = ("five oh two seven", "vane one eighteen thou", "vane two nineteen", "vane three twenty one")


def content(path: Path) -> bytes:
    """All text that a file holds: of a PDF also what its streams hold, and what its pages show."""
    data = path.read_bytes()
    if path.suffix == ".pdf":
        with pikepdf.open(path) as document:
            for one in document.objects:
                if isinstance(one, pikepdf.Stream):
                    try:
                        data += one.read_bytes()
                    except (pikepdf.PdfError, zlib.error):
                        data += one.read_raw_bytes()
        shown = subprocess.run([need_program("pdftotext"), str(path), "-"], capture_output=True, check=True)
        data += shown.stdout
    return data.lower()


def files_with(folder: Path, word: str) -> set[str]:
    return {path.name for path in folder.rglob("*") if path.is_file() and word.encode() in content(path)}


def assert_nothing_private(folder: Path) -> None:
    for word in PRIVATE:
        assert files_with(folder, word) == set(), word


@pytest.fixture(scope="session")
def said(tmp_path_factory: pytest.TempPathFactory) -> tuple[str, ...]:
    path = tmp_path_factory.mktemp("said") / "said.json"
    path.write_text(json.dumps(SAID))
    return ("--engine", "scripted", "--model", str(path))


@pytest.fixture(scope="session")
def whole(talk: Path, said: tuple[str, ...], tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """What a run that nothing stopped makes."""
    out = tmp_path_factory.mktemp("whole") / "out"
    assert run(["process", str(talk), "--sheet", SHEET, "--out", str(out), *said]) == DONE
    return results(out)


def test_after_the_work_only_the_sound_knows_what_was_private(
    talk: Path, said: tuple[str, ...], process: Process, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    assert process(talk, *said) == DONE
    out = tmp_path / "out"
    assert_nothing_private(out)
    # What is searched can be found at all: what was said to the record is in all of these.
    for words in KEPT:
        assert files_with(out, words) >= {"heard.journal", "report.html", "report.pdf", "transcript.vtt"}
    shown = "".join(capfd.readouterr()).lower()
    assert not [word for word in PRIVATE if word in shown]
    positions = {(r.position, r.value_exact) for r in record_in(out).readings}
    assert positions == {("1", "0.018"), ("2", "0.019"), ("3", "0.021")}


@pytest.mark.parametrize("at", range(len(SAID)))
def test_stopped_at_any_utterance_nothing_private_is_kept_and_the_end_is_the_same(
    at: int,
    talk: Path,
    said: tuple[str, ...],
    whole: dict[str, bytes],
    process: Process,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    hear = ScriptedEngine.hear

    def stopped(self: ScriptedEngine, segment: object) -> object:
        if getattr(segment, "number", 0) == at:
            raise KeyboardInterrupt
        return hear(self, segment)  # type: ignore[arg-type]

    with monkeypatch.context() as pressed:
        pressed.setattr(ScriptedEngine, "hear", stopped)
        assert process(talk, *said) == NOT_DONE
    assert_nothing_private(tmp_path / "out")
    assert process(talk, *said) == DONE
    assert_nothing_private(tmp_path / "out")
    assert results(tmp_path / "out") == whole


@pytest.mark.parametrize("share", [0.3, 0.5, 0.7, 0.9, 0.99])
def test_a_torn_journal_of_talk_with_pauses_gives_the_same_bytes(
    share: float, talk: Path, said: tuple[str, ...], process: Process, tmp_path: Path
) -> None:
    assert process(talk, *said) == DONE
    before = results(tmp_path / "out")
    journal = tmp_path / "out" / "heard.journal"
    journal.write_bytes(journal.read_bytes()[: round(journal.stat().st_size * share)])
    for name in FILES:
        (tmp_path / "out" / name).unlink()
    assert process(talk, *said) == DONE
    assert results(tmp_path / "out") == before


def test_other_rules_of_reading_hear_again_what_was_kept_out(
    talk: Path,
    said: tuple[str, ...],
    process: Process,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Chatter by one threshold is job talk by another, as if it had been so from the start."""
    assert process(talk, *said) == DONE
    assert not any(r.item == "casing_bolt_torque" for r in record_in(tmp_path / "out").readings)
    monkeypatch.setenv("WITNESSMARK_JOB_SCORE_LEAST", "-3")
    assert process(talk, *said, out=tmp_path / "fresh") == DONE
    capsys.readouterr()
    assert process(talk, *said) == DONE
    assert "the rules of reading have changed" in capsys.readouterr().err
    assert results(tmp_path / "out") == results(tmp_path / "fresh")
    assert any(r.item == "casing_bolt_torque" for r in record_in(tmp_path / "out").readings)
