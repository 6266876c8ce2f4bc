"""``python -m bench``: measure, print, and write the figures with commit, command and date.

Each module of this folder measures one thing: ``measure()`` returns plain data. Name some to run only
those: ``python -m bench pipeline``.
"""

from __future__ import annotations

import json
import os
import platform
import subprocess
import sys
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from typing import Any

MEASURES = (
    "pipeline", "pronunciation", "speech", "quantities", "extraction", "recogniser", "faces", "live",
    "review_page", "archive", "workers",
)  # fmt: skip
RESULTS = Path(__file__).parents[1] / "bench-results"


def main(names: list[str]) -> int:
    """Run the named measures, or all; return an exit status."""
    unknown = set(names) - set(MEASURES)
    if unknown:
        print(
            f"bench: no measure {sorted(unknown)[0]!r}; expected some of {', '.join(MEASURES)}",
            file=sys.stderr,
        )
        return 2
    # Side by side they would slow one another down; one after the other they do not.
    figures = {name: import_module(f"bench.{name}").measure() for name in names or MEASURES}
    _print(figures)
    print(f"\nwritten to {write_report(' '.join(['python -m bench', *names]), figures)}")
    return 0


def write_report(command: str, figures: dict[str, Any]) -> Path:
    """Write figures with how they were come by; return where.

    Args:
        command: that measured them, as it is typed.
        figures: plain data.
    """
    now = datetime.now(UTC)
    report = {
        "date": now.isoformat(timespec="seconds"),
        "command": command,
        "commit": _git("rev-parse", "HEAD"),
        "changed_since": bool(_git("status", "--porcelain", "--untracked-files=no")),
        "machine": {
            "processor": _processor(), "cores": os.cpu_count(), "python": platform.python_version(),
        },
        **figures,
    }  # fmt: skip
    RESULTS.mkdir(exist_ok=True)
    path = RESULTS / f"{now:%Y%m%dT%H%M%SZ}.json"
    path.write_text(json.dumps(report, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
    if not {"archive", "archive_kept"}.isdisjoint(figures):
        # Only they are drawn: nothing else needs the library.
        print(f"drawn to {import_module('bench.archive_growth').draw_beside(path, report)}")
    return path


def _print(figures: dict[str, Any], indent: str = "") -> None:
    for name, value in figures.items():
        if isinstance(value, dict):
            print(f"{indent}{name}")
            _print(value, indent + "  ")
        else:
            print(f"{indent}{name:<28} {value}")


def _git(*arguments: str) -> str:
    done = subprocess.run(
        ["git", *arguments], capture_output=True, text=True, check=False, cwd=Path(__file__).parent
    )
    return done.stdout.strip()


def _processor() -> str:
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        return platform.processor()
    return next((line.partition(":")[2].strip() for line in lines if line.startswith("model name")), "")


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
