"""``witnessmark calc``: every calculation runs, says its source, and refuses in one line."""

from __future__ import annotations

import json
import shlex
from pathlib import Path

import pytest

from api.cli import run
from api.commands.calc import command
from api.failure import DONE, NOT_DONE
from shared.record import RebuildRecord

#: One good line for every command, a figure that it must hold, and what that is.
GOOD: dict[str, tuple[str, str, float | str]] = {
    "tilt": (
        "12 14 15 15 13 11 10 10 --unit thou --radius 3in --uncertainty 1thou",
        "tilt_amplitude", 2.731723),
    "shims": ("--have 2x50,2x100,200,250,500,1000 --unit um --wanted 1150", "shims", "1000 + 100 + 50"),
    "runout": ("--reading 0.004in", "eccentricity", 0.002),
    "wear-ring": ("--diameter 7in --clearance 0.022in", "least_clearance_inch", 0.019),
    "thread": ("5/8-11", "stress_area_inch", 0.226),
    "torque": ("--thread 5/8-11 --grade 'SAE J429 5' --lubricant zinc --share 75", "torque_inch", 150.1),
    "torque-long": (
        "--thread M12x1.25 --grade 8.8 --friction 0.12 --bearing 16.6mm --hole 13.5mm",
        "assembly_torque", 90.4),
    "lubricant": ("--thread 5/8-11 --torque 150ft_lb --given-for zinc --now anti_seize",
        "preload_ratio", 5 / 3),
    "fit": ("50H7/h6", "clearance_most", 41),
    "heat": ("--bore 50mm --interference 30um --rise 90K", "clears_by", 24),
    "balance": ("--mass 10kg --speed 2950rpm --grade 6.3", "unbalance", 203.9),
    "air-test": ("--volume 28L --pressure 25psi --drop 2psi --time 5min", "leak", 762),
    "seal": (
        "--outer 60mm --inner 52mm --balance 54mm --pressure 1MPa --spring 150N --speed 2950rpm",
        "pv", 4.122),
    "light-bands": ("3", "flatness", 0.881),
    "convert": ("230degF degC", "result", 110),
    "conformity": ("--value 0.0019in --upper 0.002in --uncertainty 0.00016in", "probability", 0.894),
    "repeated": ("10 11 12 --unit mm", "standard_deviation", 1),
    "head": ("--pressure 500kPa --density 998.2kg_m3", "head", 51.08),
    "npsh": ("--suction 101.325kPa --vapour 2.3393kPa --density 998.16kg_m3 --rise 2m --loss 0.5m",
        "npsh", 11.61),
    "affinity": ("--flow 100 --head 50 --power 20 --from 2950rpm --to 1475rpm", "power", 2.5),
}  # fmt: skip


def test_every_calculation_has_a_line_here() -> None:
    assert set(GOOD) | {"causes", "advice"} == set(command.commands)


@pytest.mark.parametrize("name", list(GOOD))
def test_a_calculation_answers_people_and_programs(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    line, figure, expected = GOOD[name]
    assert run(["calc", name, *shlex.split(line), "--json"]) == DONE
    data = json.loads(capsys.readouterr().out)
    value = data["figures"][figure]["value"]
    assert value == (expected if isinstance(expected, str) else pytest.approx(expected, rel=2e-3))
    assert data["sources"]
    assert all(source["flag"] for source in data["sources"])
    assert run(["calc", name, *shlex.split(line)]) == DONE
    shown = capsys.readouterr().out
    assert "formula: " in shown
    assert "source: " in shown
    assert "does not authorise" in shown


@pytest.mark.parametrize("name", [*GOOD, "causes", "advice"])
def test_help_says_formula_validity_and_source(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["calc", name, "--help"]) == DONE
    shown = capsys.readouterr().out
    assert all(word in shown for word in ("Formula: ", "Valid: ", "Source: "))


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ("tilt 12 14 --unit thou", "expected at least 3"),
        ("tilt 12 none none 14 15 --unit psi", "--unit: 'psi' is no length"),
        ("shims --have 0.002in --unit in --wanted 1", "'0.002in' has a unit; expected the number alone"),
        ("shims --have 0.002,x --unit in --wanted 1", "is no number"),
        ("shims --have 0.002 --unit in", "none given"),
        ("shims --have 0.002 --unit in --pack 1 --mean 2", "belong together"),
        ("shims --have 0.002 --unit in --wanted 1 --pack 1 --mean 2 --nominal 1 --thicker opens",
         "more than one"),
        ("runout --reading 0.004", "--reading: '0.004' has no unit"),
        ("runout --reading 4mil", "can mean two things"),
        ("wear-ring --diameter 500mm", "below 350 mm"),
        ("thread 5/8-1", "a pitch that fits the size"),
        ("thread M60", "its coarse pitch is not known here"),
        ("thread '5/8-10 UNC'", "UNC of this size has 11"),
        ("thread M12x1.25y", "is no thread"),
        ("thread 'M12 something'", "what is"),
        ("torque --thread 5/8-11 --lubricant dry --torque 90ft_lb", "black or zinc"),
        ("torque --thread 5/8-11 --lubricant thread_locker --torque 90ft_lb", "its maker's sheet has it"),
        ("torque --thread 5/8-11 --grade B7 --lubricant zinc --torque 90ft_lb",
         "no proof strength of grade 'B7'"),
        ("torque --thread 5/8-11 --lubricant zinc --share 75", "give the bolt's grade"),
        ("torque --thread 5/8-11 --lubricant zinc --torque -5ft_lb", "torque -6.77"),
        ("fit 500H7/k6", "up to 250 mm"),
        ("fit 50H7/z6", "no shaft 'z6'"),
        ("heat --bore 50mm --interference 30um --rise 90degC", "is no temperature difference"),
        ("balance --mass 10kg --speed 0rpm --grade 6.3", "above 0"),
        ("seal --outer 50mm --inner 60mm --balance 40mm --pressure 1MPa --spring 1N --speed 1rpm",
         "below the outer"),
        ("convert 1psig bar", "can mean two things"),
        ("convert 1ft_lb psi", "cannot be turned into"),
        ("convert mm in", "is no number"),
        ("convert 1e99mm in", "is no number"),
        ("light-bands 1e999999999", "is no number"),
        ("conformity --value 1mm --uncertainty 0.1mm", "a lower or an upper limit"),
        ("conformity --value 1mm --upper 2mm --uncertainty 0mm", "above 0"),
        ("repeated 1 --unit mm", "2 to 10000"),
        ("repeated 1 2 --unit furlong", "unknown unit"),
        ("causes gremlins", "nothing is known here"),
        ("light-bands 1/0", "is no number"),
    ],
)  # fmt: skip
def test_what_cannot_be_worked_out_is_one_line(
    line: str, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["calc", *shlex.split(line)]) == NOT_DONE
    shown = capsys.readouterr()
    assert shown.out == ""
    assert says in shown.err
    assert shown.err.count("\n") == 1
    assert "a bug in" not in shown.err


def test_the_uncertainty_of_a_temperature_is_a_difference(capsys: pytest.CaptureFixture[str]) -> None:
    line = "calc conformity --value 230degF --upper 239degF --uncertainty 9degF_diff --json"
    assert run(line.split()) == DONE
    figures = json.loads(capsys.readouterr().out)["figures"]
    # 110 °C against 115 °C with U 5 K: two standard uncertainties below, 0.977 (normal table).
    assert figures["probability"]["value"] == pytest.approx(0.97725, abs=1e-5)
    assert run([*line.removesuffix("_diff --json").split()]) == NOT_DONE


def test_heating_too_far_is_said_either_way(capsys: pytest.CaptureFixture[str]) -> None:
    for line in ("--rise 110K", "--clearance 40um"):
        assert run(f"calc heat --bore 50mm --interference 30um {line}".split()) == DONE
        assert "must not be fitted by heating alone" in capsys.readouterr().out


def test_causes_are_candidates_with_their_conflicts(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["calc", "causes", "chipped"]) == DONE
    shown = capsys.readouterr().out
    assert "never a verdict" in shown
    assert "guides differ on chips" in shown
    assert run(["calc", "causes", "--json"]) == DONE
    data = json.loads(capsys.readouterr().out)
    assert all(row["causes"] for row in data["evidence"])


def test_advice_on_a_record_is_what_its_report_says(
    record: RebuildRecord, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "record.json"
    path.write_text(record.to_json(), "utf-8")
    assert run(["calc", "advice", str(path), "--sheet", "wash-water-end-suction"]) == DONE
    assert "shaft runout: 0.0019 in" in capsys.readouterr().out
    assert run(["calc", "advice", str(path), "--sheet", "wash-water-end-suction", "--json"]) == DONE
    rows = json.loads(capsys.readouterr().out)["advice"]
    assert {"about", "text", "ask", "entries", "sources", "formula"} <= set(rows[0])
    assert path.read_text("utf-8") == record.to_json()


@pytest.mark.parametrize("content", [None, "", "[]", "{}", "\u0000", '{"schema": "rebuild-record/9"}'])
def test_what_is_no_record_is_refused_in_one_line(
    content: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "record.json"
    if content is not None:
        path.write_text(content, "utf-8")
    assert run(["calc", "advice", str(path), "--sheet", "wash-water-end-suction"]) == NOT_DONE
    shown = capsys.readouterr()
    assert shown.out == ""
    assert shown.err.count("\n") == 1
    assert "record.json" in shown.err
