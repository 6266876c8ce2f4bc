"""Write ``capture/expected_hearing.yaml``: what ``witnessmark bench-check`` says to expect in a noise.

``python -m bench.expected_hearing`` speaks and hears the development jobs (long; needs the program flite)
and writes their figures by noise with date and commit; ``--quick`` takes a third of the jobs, in quiet and
in the least noise (half an hour of talk). It refuses while the tree differs from the commit.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import yaml

from bench.speech import NOISES_DB, measure
from capture.expected_hearing import TABLE

_COMMAND = "python -m bench.expected_hearing"
_HEAD = f"# Written by {_COMMAND} from development talk; never by hand. Shares are 0 to 1.\n"
_FIGURES = {
    "words_wrong": "word_error_rate", "numbers_right": "number_lines_right",
    "readings_right": "readings_right", "readings_asked": "readings_asked",
    "filed_sure": "filed_sure", "silently_wrong": "silently_wrong",
    "silently_wrong_at_most": "silently_wrong_at_most",
}  # fmt: skip


def table_of(figures: dict[str, Any], *, date: str, commit: str, command: str = _COMMAND) -> dict[str, Any]:
    """Return the table of a measurement.

    Args:
        figures: what :func:`bench.speech.measure` returned.
        date: of the measurement.
        commit: that was measured.
        command: that measured it.
    """
    levels = []
    for snr_db in NOISES_DB:
        measured = figures.get("clean" if snr_db is None else f"{snr_db:g} dB")
        if measured is not None:
            levels.append({"snr_db": snr_db, **{name: measured[key] for name, key in _FIGURES.items()}})
    return {"date": date, "commit": commit, "command": command, "levels": levels}


def write_table(table: dict[str, Any], path: Path = TABLE) -> None:
    """Write the table."""
    path.write_text(_HEAD + yaml.safe_dump(table, sort_keys=False), encoding="utf-8")


def main() -> int:
    """Measure and write; return an exit status."""
    if _git("status", "--porcelain", "--untracked-files=no"):
        print("bench: the tree differs from its commit; commit first, so that the figures are its own")
        return 2
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    quick = parser.parse_args().quick
    commit = _git("rev-parse", "HEAD")
    figures = measure("development", part="quick" if quick else "whole")
    command = _COMMAND + (" --quick" if quick else "")
    table = table_of(figures, date=f"{datetime.now(UTC):%Y-%m-%d}", commit=commit, command=command)
    write_table(table)
    print(f"written to {TABLE}")
    return 0


def _git(*arguments: str) -> str:
    done = subprocess.run(
        ["git", *arguments], capture_output=True, text=True, check=True, cwd=Path(__file__).parent
    )
    return done.stdout.strip()


if __name__ == "__main__":
    sys.exit(main())
