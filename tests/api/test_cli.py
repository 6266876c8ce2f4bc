"""The command line: one line and the right status for everything that goes wrong."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import click
import pytest

from api.cli import COMMANDS, cli, run
from api.failure import DONE, NOT_DONE, exit_status
from shared.errors import SheetNotFound
from shared.job_sheet import shipped_sheet_ids
from shared.record import RebuildRecord


def every_command() -> list[tuple[str, ...]]:
    """Paths of all commands, groups included."""
    found: list[tuple[str, ...]] = []
    for name in COMMANDS:
        command = cli.get_command(click.Context(cli), name)  # type: ignore[arg-type]
        found.append((name,))
        if isinstance(command, click.Group):
            found += [(name, below) for below in command.commands]
    return found


@pytest.mark.parametrize("path", every_command(), ids=" ".join)
def test_every_command_has_help_and_json(path: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*path, "--help"]) == DONE
    shown = capsys.readouterr().out
    assert shown.startswith(f"Usage: witnessmark {' '.join(path)}")
    assert "--json" in shown or "Commands:" in shown


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        ([], "Missing command; see: witnessmark --help"),
        (["sheet"], "Missing command; see: witnessmark sheet --help"),
        (["shet"], "No such command 'shet'"),
        (["sheet", "show"], "Missing argument 'SHEET'"),
        (["sheet", "show", "nix"], "no job sheet 'nix'; expected a file or one of"),
        (["sheet", "list", "--wrong"], "--wrong"),
        (["sheet", "check", "/nowhere.yaml"], "no job sheet"),
        (["sheet", "new", "../evil"], "cannot be a sheet's id"),
    ],
)
def test_what_cannot_be_done_is_one_line_and_status_two(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == NOT_DONE
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.startswith("witnessmark: ")
    assert shown.err.count("\n") == 1
    assert says in shown.err


def _raise(exc: BaseException) -> None:
    raise exc


@pytest.mark.parametrize(
    ("exc", "says"),
    [
        (SheetNotFound("no sheet", where="x"), "witnessmark: x: no sheet [sheet-not-found]\n"),
        (PermissionError(13, "Permission denied", "/root/x"), "/root/x: Permission denied"),
        (KeyboardInterrupt(), "interrupted"),
        (
            ZeroDivisionError("division\nby zero"),
            "a bug in witnessmark: ZeroDivisionError: division by zero; please report",
        ),
    ],
)
def test_every_failure_is_one_line(exc: BaseException, says: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert exit_status(lambda: _raise(exc)) == NOT_DONE
    shown = capsys.readouterr().err
    assert says in shown
    assert shown.count("\n") == 1


def test_a_bug_shows_where_only_when_debugging(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("WITNESSMARK_DEBUG", "1")
    exit_status(lambda: _raise(ZeroDivisionError("x")))
    assert "Traceback" in capsys.readouterr().err


def test_help_is_there_at_once() -> None:
    # What makes it slow is importing; so nothing heavy may be imported for help. Measured: 0.1 s.
    code = "import sys; from api.cli import run; run(['--help']); print(sorted(sys.modules), file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = {name.split(".")[0] for name in done.stderr.replace("'", "").strip("[]\n").split(", ")}
    assert loaded.isdisjoint(
        {"numpy", "cv2", "av", "spacy", "pydantic", "pint", "typst", "jinja2", "faster_whisper"}
    )


def test_a_reader_that_has_enough_is_no_failure() -> None:
    # The parent reads one byte of a long output and goes away, as "head" does.
    process = subprocess.Popen(
        [sys.executable, "-c", "from api.cli import run; import sys; sys.exit(run(['schema']))"],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )  # fmt: skip
    assert process.stdout is not None
    assert process.stderr is not None
    process.stdout.read(1)
    process.stdout.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == DONE


def test_schema_prints_the_contract_and_a_record_keeps_it(
    record: RebuildRecord, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["schema"]) == DONE
    schema = json.loads(capsys.readouterr().out)
    assert schema["$schema"] == "https://json-schema.org/draft/2020-12/schema"
    assert schema["title"] == "rebuild-record/1"
    assert set(schema["properties"]) == set(json.loads(record.to_json()))
    assert schema["additionalProperties"] is False


def test_version_is_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == DONE
    assert capsys.readouterr().out.startswith("witnessmark ")


def test_sheets_are_listed_for_people_and_programs(capsys: pytest.CaptureFixture[str]) -> None:
    run(["sheet", "list"])
    assert [line.split()[0] for line in capsys.readouterr().out.splitlines()] == list(shipped_sheet_ids())
    run(["sheet", "list", "--json"])
    assert [row["id"] for row in json.loads(capsys.readouterr().out)] == list(shipped_sheet_ids())


@pytest.mark.parametrize("name", shipped_sheet_ids())
def test_a_sheet_is_shown_with_everything_on_it(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    from shared.job_sheet import load_job_sheet

    sheet = load_job_sheet(name)
    assert run(["sheet", "show", name]) == DONE
    shown = capsys.readouterr().out.lower()
    for entry in [*sheet.measured.values()]:
        assert entry.item.replace("_", " ") in shown
        for limit in (entry.lower, entry.upper, entry.nominal):
            assert limit is None or str(limit) in shown
    assert run(["sheet", "show", name, "--json"]) == DONE
    assert json.loads(capsys.readouterr().out)["id"] == name


def test_a_new_sheet_is_right_from_the_start_and_never_overwrites(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert run(["sheet", "new", "slurry-pump"]) == DONE
    assert run(["sheet", "check", "slurry-pump.yaml", "--strict"]) == DONE
    assert "no problem and no doubt" in capsys.readouterr().out
    assert run(["sheet", "new", "slurry-pump"]) == NOT_DONE
    assert "the file is there already" in capsys.readouterr().err
    assert run(["sheet", "new", "b", "--out", "no/such/folder.yaml", "--json"]) == NOT_DONE


def test_check_prints_every_problem_with_its_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "bad.yaml"
    path.write_text(
        "id: bad\ntitle: A pump\nunits: {length: in}\nreadings:\n"
        "  - {item: gap, unit: in, lower: 0.02, upper: 0.01}\n"
        "  - {item: gap2, unit: furlong}\n  - {unit: in}\n"
    )
    assert run(["sheet", "check", str(path)]) == NOT_DONE
    shown = capsys.readouterr()
    lines = shown.out.splitlines()
    assert [line.split(": ")[1] for line in lines] == ["bad.yaml:5", "bad.yaml:6", "bad.yaml:7"]
    assert "lower 0.02 is above upper 0.01" in lines[0]
    assert "3 problems; the sheet cannot be used" in shown.err


def test_check_tells_doubts_and_strict_makes_them_count(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "odd.yaml"
    path.write_text(
        "id: odd\ntitle: A pump\nunits: {length: in}\nreadings:\n"
        "  - {item: gap, unit: in, upper: 0.02, plausible: [0, 0.01]}\n"
    )
    assert run(["sheet", "check", str(path)]) == DONE
    assert capsys.readouterr().out.startswith("doubt: odd.yaml:5")
    assert run(["sheet", "check", str(path), "--strict", "--json"]) == 1
    assert json.loads(capsys.readouterr().out)["doubts"]


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["proces", "a.wav"], "did you mean process?"),
        (["sheet", "show", "wash-water-endsuction"], "did you mean wash-water-end-suction?"),
        (["process", "a.wav", "--sheets", "x"], "--sheet"),
    ],
)
def test_a_slip_of_the_pen_is_answered_with_what_was_meant(
    arguments: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(arguments) == NOT_DONE
    assert says in capsys.readouterr().err


def test_check_names_the_lines_in_order_and_the_field_that_was_meant(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "slips.yaml"
    path.write_text(
        "id: a\ntitle: b\nunits: in\nreading: []\nreadings: [x]\nparts:\n  - {part: a, polcy: renew}\n"
    )
    assert run(["sheet", "check", str(path)]) == NOT_DONE
    lines = capsys.readouterr().out.splitlines()
    assert [line.split(":")[2] for line in lines] == ["3", "4", "5", "7"]
    assert "such as length: in" in lines[0]
    assert "did you mean readings?" in lines[1]
    assert "did you mean policy?" in lines[3]


def test_a_consumable_that_no_record_can_name_is_doubted(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "glue.yaml"
    path.write_text("id: a\ntitle: b\nunits: {length: in}\nconsumables: [{name: glue}, {name: grease}]\n")
    assert run(["sheet", "check", str(path)]) == DONE
    (line,) = capsys.readouterr().out.splitlines()
    assert "'glue' cannot be recorded; expected one of anti_seize" in line
