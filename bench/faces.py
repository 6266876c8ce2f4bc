"""Whole inspections of rendered seal faces, scored against their truth, beside a plain circle finder.

``python -m bench faces`` scores ``fixtures/faces``; ``python -m bench.faces FOLDER…`` (``make score-faces``)
any folders, with the confusion tables. Nothing is given to the inspection but the picture and, where the
truth says so, the diameter of the job sheet; lengths without any scale are compared in outer radii.
"""

from __future__ import annotations

import argparse
import resource
import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from bench import face_defects
from bench.face_pictures import TruePicture, true_pictures
from bench.face_rings import plain_circles
from capture.face.inspection import Inspection, inspect_picture
from capture.picture_quality import Picture

KEPT = Path(__file__).parents[1] / "fixtures" / "faces"


@dataclass
class FaceTally:
    """Counts over pictures."""

    verdicts: Counter[tuple[str, str]] = field(default_factory=Counter)
    """(true reason or usable, reported reason or usable)."""
    evenness: Counter[tuple[str, str]] = field(default_factory=Counter)
    faces: int = 0
    """Usable by the truth."""
    both_diameters: int = 0
    centres: int = 0
    absolute: int = 0
    with_marker: int = 0
    circles: int = 0
    """Outer diameters within 1 % by the plain circle finder."""
    radius_errors: list[float] = field(default_factory=list)
    offset_errors_mm: list[float] = field(default_factory=list)
    seconds: list[float] = field(default_factory=list)
    marks: face_defects.Tally = field(default_factory=face_defects.Tally)
    notes: list[str] = field(default_factory=list)


def measure() -> dict[str, Any]:
    """Score the kept pictures; return plain data."""
    return figures_of(score(true_pictures(KEPT)))


def score(pictures: Iterable[TruePicture]) -> FaceTally:
    """Inspect every picture and count what is right."""
    tally = FaceTally()
    for true in pictures:
        picture, truth = true.picture(), true.truth
        began = time.process_time()
        seen = inspect_picture(picture, truth.get("sheet_outer_diameter_mm"))
        tally.seconds.append(time.process_time() - began)
        wanted = "usable" if true.usable else truth["reasons"][0]
        got = "usable" if seen.report.usable else seen.report.reasons[0]
        tally.verdicts[wanted, got] += 1
        if true.usable != seen.report.usable:
            tally.notes.append(f"VERDICT {true.name}: {wanted} called {got}")
        if true.usable:
            _count_face(tally, true, picture, seen)
    return tally


def _count_face(tally: FaceTally, true: TruePicture, picture: Picture, seen: Inspection) -> None:
    tally.faces += 1
    tally.circles += _circle_is_right(picture, true.truth)
    if not seen.report.usable or seen.plane is None:
        return
    _count_ring(tally, true, seen)
    _count_track(tally, true, seen)
    face_defects.count(tally.marks, true.truth, list(seen.marks))


def _count_ring(tally: FaceTally, true: TruePicture, seen: Inspection) -> None:
    truth, report = true.truth, seen.report
    assert report.outer is not None
    assert report.inner is not None
    outer, inner = truth["outer"], truth["inner"]
    off = [
        abs(report.outer.major_px / outer["major_px"] - 1),
        abs(report.inner.major_px / inner["major_px"] - 1),
    ]
    right = max(off) <= 0.01
    tally.both_diameters += right
    apart = np.hypot(*np.subtract(report.outer.centre_px, outer["centre_px"]))
    tally.centres += bool(apart <= 0.01 * outer["major_px"])
    if truth["marker"]:
        tally.with_marker += 1
        measured = report.outer_diameter_mm if report.scale_from == "marker" else None
        tally.absolute += measured is not None and abs(measured / truth["outer_diameter_mm"] - 1) <= 0.015
    if not right:
        tally.notes.append(
            f"RING {true.name}: outer off by {off[0]:.1%}, inner by {off[1]:.1%}, "
            f"trust {seen.found.trust:.2f}"
        )


def _count_track(tally: FaceTally, true: TruePicture, seen: Inspection) -> None:
    wanted = true.truth["track"]
    if wanted is None or seen.track is None or seen.plane is None:
        return
    radius = true.truth["outer_diameter_mm"] / 2
    found = seen.track.report(radius)
    tally.evenness[wanted["evenness"], found.evenness] += 1
    if wanted["evenness"] != found.evenness:
        tally.notes.append(f"TRACK {true.name}: {wanted['evenness']} called {found.evenness}")
    if found.inner_radius_mm is None or found.outer_radius_mm is None or not wanted["present"]:
        return
    width = radius - true.truth["inner_diameter_mm"] / 2
    errors = (
        abs(found.inner_radius_mm - wanted["inner_radius_mm"]),
        abs(found.outer_radius_mm - wanted["outer_radius_mm"]),
    )
    tally.radius_errors.append(sum(errors) / 2 / width)
    if found.offset_mm is not None and found.offset_direction_deg is not None:
        there = found.offset_mm * np.exp(1j * np.radians(found.offset_direction_deg))
        should = wanted["offset_mm"] * np.exp(1j * np.radians(wanted["offset_direction_deg"] or 0.0))
        tally.offset_errors_mm.append(float(abs(there - should)))


def _circle_is_right(picture: Picture, truth: dict[str, Any]) -> bool:
    """Whether the best circle of the Hough transform has the outer diameter within 1 %."""
    circles = plain_circles(picture)
    return bool(len(circles) and abs(2 * circles[0, 2] / truth["outer"]["major_px"] - 1) <= 0.01)


def figures_of(tally: FaceTally) -> dict[str, Any]:
    """Return the figures that the issue asks for, with the numbers behind them."""
    pictures = sum(tally.verdicts.values())
    right = sum(n for (wanted, got), n in tally.verdicts.items() if (wanted == "usable") == (got == "usable"))
    tracks = sum(tally.evenness.values())
    even = sum(n for (wanted, got), n in tally.evenness.items() if wanted == got)
    marks = tally.marks
    return {
        "pictures": pictures,
        "usable_or_not_right": _share(right, pictures),
        "both_diameters_within_1_percent": _share(tally.both_diameters, tally.faces),
        "outer_diameter_by_plain_circles": _share(tally.circles, tally.faces),
        "centre_within_1_percent": _share(tally.centres, tally.faces),
        "marker_diameter_within_1.5_percent": _share(tally.absolute, tally.with_marker),
        "evenness_right": _share(even, tracks),
        "track_radii_mean_error_of_width": _mean(tally.radius_errors),
        "offset_within_0.15_mm": _share(
            sum(error <= 0.15 for error in tally.offset_errors_mm), len(tally.offset_errors_mm)
        ),
        "damage_recall": _share(
            sum(marks.found[kind] for kind in face_defects.MUST),
            sum(marks.planted[kind] for kind in face_defects.MUST),
        ),
        "marks_precision": _share(marks.right, marks.reported),
        "clean_faces_with_a_mark": _share(marks.clean_with_marks, marks.clean),
        "deposits_called_damage": _share(marks.deposits_as_damage, marks.deposits),
        "angle_within_3_degrees": _share(sum(e <= 3 for e in marks.angle_errors), len(marks.angle_errors)),
        "seconds_mean": _mean(tally.seconds),
        "seconds_most": round(max(tally.seconds, default=0.0), 3),
        "memory_most_mb": resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024,
    }  # fmt: skip


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole}" + (f" ({part / whole:.1%})" if whole else "")


def _mean(values: list[float]) -> float | None:
    return round(float(np.mean(values)), 4) if values else None


def _table(name: str, counts: Counter[tuple[str, str]]) -> Iterator[str]:
    columns = sorted({got for _, got in counts})
    yield f"{name}: true (rows), reported (columns)"
    yield " " * 18 + "".join(f"{column:>18}" for column in columns)
    for wanted in sorted({wanted for wanted, _ in counts}):
        yield f"{wanted:<18}" + "".join(f"{counts[wanted, got]:>18}" for got in columns)


def main(arguments: list[str] | None = None) -> int:
    """Print figures and confusion tables of the pictures in some folders."""
    parser = argparse.ArgumentParser(prog="python -m bench.faces", description=__doc__)
    parser.add_argument("folders", nargs="*", type=Path, default=[KEPT])
    parser.add_argument("--each", action="store_true", help="print what is wrong, picture by picture")
    asked = parser.parse_args(arguments)
    tally = score(true for folder in asked.folders for true in true_pictures(folder))
    if not tally.verdicts:
        print(
            f"{asked.folders[0]}: no pictures with their truth; expected NAME.jpg beside NAME.json",
            file=sys.stderr,
        )
        return 2
    for name, value in figures_of(tally).items():
        print(f"{name:<36} {value}")
    print(*_table("verdict", tally.verdicts), *_table("track", tally.evenness), sep="\n")
    print(*_table("marks", tally.marks.confusion), sep="\n")
    if asked.each:
        print(*tally.notes, *tally.marks.notes, sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
