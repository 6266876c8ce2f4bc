"""Scores the marks found on rendered seal faces against the truth: `python -m bench.face_defects FOLDER…`.

The face is placed by the truth (`plane_px`), with an error of the radii on demand, so that this scores the
mark finders and not the ring finder. A mark is found when something of the same sort is reported within
3 degrees of its middle, or, where it spans more than 20 degrees, over half of what both span together.
Precision counts every mark reported, against planted marks of any size.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np

from bench.face_pictures import as_seen
from capture.face.defects import find_defects
from capture.face.lighting import lit
from capture.face.mark import Mark
from capture.face.plane import FacePlane
from capture.face.strip import unrolled
from capture.face.track import find_track

_ANGLE_DEG = 3.0
_WIDE_DEG = 20.0
#: Least size in the picture, pixels, of a mark that must be found.
_LENGTH_PX, _WIDTH_PX = 5.0, 1.2
MUST = ("scratch", "score", "chip", "crack")


@dataclass
class Tally:
    """Counts over pictures."""

    pictures: int = 0
    planted: Counter[str] = field(default_factory=Counter)
    found: Counter[str] = field(default_factory=Counter)
    same_kind: Counter[str] = field(default_factory=Counter)
    reported: int = 0
    right: int = 0
    right_kind: int = 0
    confusion: Counter[tuple[str, str]] = field(default_factory=Counter)
    clean: int = 0
    clean_with_marks: int = 0
    false_on_clean: Counter[str] = field(default_factory=Counter)
    deposits: int = 0
    deposits_as_damage: int = 0
    angle_errors: list[float] = field(default_factory=list)
    milliseconds: list[float] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def plane_of_truth(truth: dict[str, Any], error: float = 0.0) -> FacePlane:
    """Return the plane that the truth tells, its radius wrong by a share."""
    radius = truth["outer_diameter_mm"] / 2 * (1 + error)
    scaled = np.array(truth["plane_px"], np.float64) @ np.diag([radius, radius, 1.0])
    return FacePlane(scaled, truth["inner_diameter_mm"] / truth["outer_diameter_mm"])


def faces(folders: list[Path], half: str) -> Iterator[tuple[Path, dict[str, Any]]]:
    """Yield picture and truth of every usable face; half = even, odd or all, by the order of the pairs."""
    for folder in folders:
        place: dict[str, int] = {}
        for path in sorted(folder.glob("*.json")):
            truth = json.loads(path.read_text("utf-8"))
            if not isinstance(truth, dict) or truth.get("kind") != "face" or not truth.get("usable"):
                continue
            truth = as_seen(truth)
            # A picture and its twin fall into one half.
            pair = min(truth["name"], truth["twin"] or truth["name"])
            number = place.setdefault(pair, len(place))
            if half == "all" or (number % 2 == 0) == (half == "even"):
                yield path.with_suffix(".jpg"), truth


def main(arguments: list[str] | None = None) -> int:
    """Print the figures of the pictures in some folders."""
    parser = argparse.ArgumentParser(prog="python -m bench.face_defects", description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    parser.add_argument("--half", choices=["all", "even", "odd"], default="all")
    parser.add_argument("--radius-error", type=float, default=0.0, help="share, say 0.004")
    parser.add_argument("--each", action="store_true", help="print misses and false marks")
    asked = parser.parse_args(arguments)
    tally = Tally()
    for path, truth in faces(asked.folders, asked.half):
        picture = cv2.imread(str(path), cv2.IMREAD_COLOR)
        if picture is None:
            print(f"{path}: unreadable; expected a JPEG beside its truth; render it again", file=sys.stderr)
            return 2
        light = lit(unrolled(np.asarray(picture, np.uint8), plane_of_truth(truth, asked.radius_error)))
        track = find_track(light, None)
        began = time.perf_counter()
        marks = find_defects(light, track)
        tally.milliseconds.append((time.perf_counter() - began) * 1000)
        count(tally, truth, marks)
    for line in lines_of(tally, asked.each):
        print(line)
    return 0


def count(tally: Tally, truth: dict[str, Any], marks: list[Mark]) -> None:
    """Add one picture."""
    tally.pictures += 1
    planted = truth["defects"]
    if not planted and not truth.get("faint"):
        tally.clean += 1
        tally.clean_with_marks += bool(marks)
        tally.false_on_clean.update(mark.kind for mark in marks)
    for defect in planted:
        _count_planted(tally, truth["name"], defect, marks)
    for mark in marks:
        hit = _best(mark, planted)
        if hit is None and _best(mark, truth.get("faint", [])):
            # Planted, but said to be hardly visible: neither asked for nor wrong.
            continue
        tally.reported += 1
        name = hit["kind"] if hit else "nothing"
        # A patch that may clean off is no damage, and damage no patch.
        right = hit is not None and (mark.kind == "deposit") == (hit["kind"] == "deposit")
        tally.right += right
        tally.right_kind += hit is not None and hit["kind"] == mark.kind
        tally.confusion[(name, mark.kind)] += 1
        if not right:
            tally.notes.append(
                f"FALSE {truth['name']}: {mark.kind} at {mark.angle_deg:.1f} arc {mark.arc_deg:.1f} "
                f"r {mark.r_in:.3f}-{mark.r_out:.3f} score {mark.score:.2f} lies on {name}"
            )


def _count_planted(tally: Tally, name: str, defect: dict[str, Any], marks: list[Mark]) -> None:
    kind = defect["kind"]
    near = [mark for mark in marks if matches(mark, defect)]
    if kind == "deposit":
        tally.deposits += 1
        tally.deposits_as_damage += any(mark.kind != "deposit" for mark in near)
    if defect["length_px"] < _LENGTH_PX or defect["width_px"] < _WIDTH_PX:
        return
    tally.planted[kind] += 1
    fitting = [mark for mark in near if (mark.kind == "deposit") == (kind == "deposit")]
    tally.found[kind] += bool(fitting)
    tally.same_kind[kind] += any(mark.kind == kind for mark in fitting)
    if fitting:
        tally.angle_errors.append(min(abs(_turn(mark.angle_deg, defect["angle_deg"])) for mark in fitting))
    else:
        tally.notes.append(
            f"MISS {name}: {kind} at {defect['angle_deg']:.1f} arc {defect['arc_deg']:.1f} "
            f"r {defect['r_in_mm']:.2f}-{defect['r_out_mm']:.2f} mm, "
            f"{defect['length_px']:.0f} x {defect['width_px']:.1f} px"
        )


def matches(mark: Mark, defect: dict[str, Any]) -> bool:
    """Tell whether a mark lies where a planted one does."""
    apart = abs(_turn(mark.angle_deg, defect["angle_deg"]))
    if defect["arc_deg"] <= _WIDE_DEG:
        return apart <= _ANGLE_DEG
    common = _common(mark, defect)
    return apart <= _ANGLE_DEG or common > 0.5 * (mark.arc_deg + defect["arc_deg"] - common)


def _common(mark: Mark, defect: dict[str, Any]) -> float:
    """Return the degrees that both span."""
    degrees = np.arange(0, 360, 0.5)
    spans = [(mark.angle_deg, mark.arc_deg), (defect["angle_deg"], defect["arc_deg"])]
    both = [np.abs((degrees - angle + 180) % 360 - 180) <= arc / 2 for angle, arc in spans]
    return float(np.count_nonzero(both[0] & both[1]) * 0.5)


def _best(mark: Mark, planted: list[dict[str, Any]]) -> dict[str, Any] | None:
    near = [defect for defect in planted if matches(mark, defect)]
    return min(
        near,
        key=lambda d: (d["kind"] != mark.kind, (d["kind"] == "deposit") != (mark.kind == "deposit"),
                       abs(_turn(mark.angle_deg, d["angle_deg"]))),
        default=None,
    )  # fmt: skip


def _turn(one: float, other: float) -> float:
    return (one - other + 180) % 360 - 180


def lines_of(tally: Tally, each: bool) -> Iterator[str]:
    """Yield the figures as lines."""
    yield f"pictures {tally.pictures}"
    for kind in sorted(tally.planted):
        total = tally.planted[kind]
        share = tally.found[kind] / total
        same = tally.same_kind[kind]
        yield f"  {kind:11s} found {tally.found[kind]}/{total} ({share:.3f}), kind right {same}"
    must = sum(tally.planted[kind] for kind in MUST)
    found = sum(tally.found[kind] for kind in MUST)
    yield f"recall (scratch, score, chip, crack) {found}/{must} = {found / max(must, 1):.3f}"
    yield f"recall (all) {tally.found.total()}/{tally.planted.total()}"
    precision = tally.right / max(tally.reported, 1)
    yield f"precision {tally.right}/{tally.reported} = {precision:.3f}, kind right {tally.right_kind}"
    yield f"clean pictures with a mark {tally.clean_with_marks}/{tally.clean}: {dict(tally.false_on_clean)}"
    yield f"deposits called damage {tally.deposits_as_damage}/{tally.deposits}"
    if tally.angle_errors:
        errors = np.array(tally.angle_errors)
        yield f"angle error median {np.median(errors):.2f}, 95 % {np.quantile(errors, 0.95):.2f} degrees"
    if tally.milliseconds:
        yield f"milliseconds median {np.median(tally.milliseconds):.0f}, most {max(tally.milliseconds):.0f}"
    pairs = sorted(tally.confusion.items())
    yield "planted -> reported: " + ", ".join(f"{planted}->{told} {n}" for (planted, told), n in pairs)
    if each:
        yield from tally.notes


if __name__ == "__main__":
    sys.exit(main())
