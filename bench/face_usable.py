"""Usable or not, and why, as a table: `python -m bench.face_usable FOLDER… [--truth-plane] [--faults]`.

A folder holds NAME.jpg beside NAME.json, as made by fixtures/face_renders. With --truth-plane the true place
of the face stands in for the ring search, so that the judge is scored alone.
"""

from __future__ import annotations

import argparse
import json
import math
import time
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np

from capture.face.marker import find_marker
from capture.face.plane import FacePlane
from capture.face.ring import RingFound, find_ring
from capture.face.usable import Usability, judge_face
from capture.pictures import read_picture
from shared.photo import Reason

_FOUND_BY_RING: tuple[Reason, ...] = ("no_ring", "two_rings", "ring_out_of_frame")
#: Asked of the absolute diameter (issue: See the seal face).
_SCALE_WITHIN = 0.015


def main() -> None:
    """Print the table, the share of right verdicts and the time."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folders", type=Path, nargs="+")
    parser.add_argument("--truth-plane", action="store_true")
    parser.add_argument("--faults", action="store_true", help="name the pictures that were judged wrongly")
    asked = parser.parse_args()
    table: Counter[tuple[str, str]] = Counter()
    right, reason_right, total = 0, 0, 0
    times: list[float] = []
    scales: list[float] = []
    for path in sorted(path for folder in asked.folders for path in folder.glob("*.json")):
        truth = json.loads(path.read_text("utf-8"))
        picture = read_picture(path.with_suffix(".jpg"))
        found = _true_ring(truth) if asked.truth_plane else find_ring(picture)
        if truth.get("marker") and found.plane is not None:
            scales.append(_off(find_marker(picture, found.plane), truth))
        start = time.thread_time()
        verdict = judge_face(picture, found)
        times.append(time.thread_time() - start)
        total += 1
        right += truth["usable"] == (not verdict.reasons)
        wanted, got = _first(truth["reasons"]), _first(verdict.reasons)
        reason_right += wanted == got or wanted in verdict.reasons
        table[wanted, got] += 1
        if asked.faults and wanted != got:
            print(f"{path.stem}: {wanted} judged {_said(verdict)} ({truth['kind']}, {truth.get('material')})")
    _print_table(table)
    print(f"usable or not right {right} of {total} ({right / max(total, 1):.3f}), reason too {reason_right}")
    within = sum(abs(off) < _SCALE_WITHIN for off in scales)
    refused = int(np.isnan(scales).sum())
    print(f"scale from a marker within {_SCALE_WITHIN:.1%}: {within} of {len(scales)}, refused {refused}")
    print(f"judged in {1e3 * np.median(times):.0f} ms (median), at most {1e3 * max(times):.0f} ms")


def _off(mm_per_radius: float | None, truth: dict[str, Any]) -> float:
    """Return by what share the diameter is off, nan where no scale was found."""
    return 2 * mm_per_radius / truth["outer_diameter_mm"] - 1 if mm_per_radius else math.nan


def _true_ring(truth: dict[str, Any]) -> RingFound:
    named = [reason for reason in _FOUND_BY_RING if reason in truth["reasons"]]
    if truth.get("outer") is None or named:
        return RingFound(None, named[0] if named else "no_ring", truth["kind"], 1.0)
    radius = truth["outer_diameter_mm"] / 2
    to_px = np.array(truth["plane_px"], np.float64) @ np.diag([radius, radius, 1.0])
    bore = truth["inner_diameter_mm"] / truth["outer_diameter_mm"]
    return RingFound(FacePlane(to_px, bore), None, "a face", 1.0)


def _first(reasons: list[Any]) -> str:
    return str(reasons[0]) if reasons else "usable"


def _said(verdict: Usability) -> str:
    return ", ".join(verdict.reasons) or "usable"


def _print_table(table: Counter[tuple[str, str]]) -> None:
    names = sorted({name for pair in table for name in pair}, key=lambda name: (name != "usable", name))
    print("truth \\ judged".ljust(20) + "".join(name[:11].rjust(12) for name in names))
    for truth in (name for name in names if any(pair[0] == name for pair in table)):
        print(truth.ljust(20) + "".join(str(table[truth, name] or "·").rjust(12) for name in names))


if __name__ == "__main__":
    main()
