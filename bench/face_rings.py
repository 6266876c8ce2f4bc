"""How well the flat face is found: ``python -m bench.face_rings FOLDER…``.

Diameters (major axis) and centre against the truth of rendered pictures, which edge was taken instead where
one is wrong, and a plain Hough-circle baseline on the same pictures.
"""

from __future__ import annotations

import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from bench.face_pictures import TruePicture, true_pictures
from capture.face.plane import FacePlane
from capture.face.ring import find_ring
from capture.picture_quality import Picture
from shared.photo import Ellipse

#: Share of a diameter within which it, and the centre, count as right.
RIGHT = 0.01


@dataclass
class Tally:
    """Sums over the pictures of a folder."""

    usable: int = 0
    both: int = 0
    outer: int = 0
    inner: int = 0
    centre: int = 0
    refused: int = 0
    hough_outer: int = 0
    hough_both: int = 0
    kinds: int = 0
    kinds_named: int = 0
    wrong: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    answers: Counter[str] = field(default_factory=Counter)
    seconds: list[float] = field(default_factory=list)

    def figures(self) -> dict[str, Any]:
        """Return plain data."""
        usable, kinds = max(self.usable, 1), max(self.kinds, 1)
        return {
            "usable": self.usable,
            "both diameters within 1 %": round(self.both / usable, 3),
            "outer": round(self.outer / usable, 3),
            "inner": round(self.inner / usable, 3),
            "centre within 1 %": round(self.centre / usable, 3),
            "refused": round(self.refused / usable, 3),
            "wrong edges": dict(self.wrong.most_common()),
            "Hough circles: outer, both": (
                round(self.hough_outer / usable, 3),
                round(self.hough_both / usable, 3),
            ),
            "no face, two, out of frame: reason right": f"{self.kinds_named}/{self.kinds} "
            f"({round(self.kinds_named / kinds, 3)})",
            "answers": dict(self.answers.most_common()),
            "ms on one core": round(1000 * float(np.median(self.seconds or [0.0])), 1),
        }


def measure(folders: list[Path]) -> dict[str, Any]:
    """Score the folders."""
    return {str(folder): score(folder).figures() for folder in folders}


def score(folder: Path, only: set[str] | None = None) -> Tally:
    """Score one folder, or the named pictures of it."""
    tally = Tally()
    for true in true_pictures(folder):
        if only is None or true.name in only:
            _score_one(true, tally)
    return tally


def _score_one(true: TruePicture, tally: Tally) -> None:
    picture = true.picture()
    start = time.process_time()
    found = find_ring(picture)
    tally.seconds.append(time.process_time() - start)
    if not true.usable:
        wanted = [
            one for one in true.truth["reasons"] if one in ("no_ring", "two_rings", "ring_out_of_frame")
        ]
        if wanted:
            tally.kinds += 1
            tally.kinds_named += found.reason in wanted
            tally.answers[f"{true.truth['kind']}: {wanted[0]} -> {found.reason} ({found.what})"] += 1
            if found.reason not in wanted:
                tally.faults.append(
                    f"{true.name} {true.truth['kind']} {wanted} -> {found.reason} {found.trust:.2f}"
                )
        return
    tally.usable += 1
    outer, inner = Ellipse(**true.truth["outer"]), Ellipse(**true.truth["inner"])
    _score_hough(picture, outer, inner, tally)
    if found.plane is None:
        tally.refused += 1
        tally.faults.append(f"{true.name} refused: {found.reason} {found.what} {found.trust:.2f}")
        return
    outer_right = _right(found.plane.outer, outer)
    inner_right = _right(found.plane.inner, inner)
    tally.outer += outer_right
    tally.inner += inner_right
    tally.both += outer_right and inner_right
    apart = np.subtract(found.plane.outer.centre_px, outer.centre_px)
    tally.centre += float(np.hypot(*apart)) <= RIGHT * outer.major_px
    if not (outer_right and inner_right):
        told = _instead(true, found.plane, outer_right, inner_right)
        tally.wrong[told] += 1
        off = (found.plane.outer.major_px / outer.major_px, found.plane.inner.major_px / inner.major_px)
        tally.faults.append(f"{true.name} {told} {off[0]:.3f} {off[1]:.3f} trust {found.trust:.2f}")


def _right(found: Ellipse, true: Ellipse) -> bool:
    return abs(found.major_px / true.major_px - 1) <= RIGHT


def _instead(true: TruePicture, plane: FacePlane, outer_right: bool, inner_right: bool) -> str:
    """Name the edges that were taken in place of the right ones."""
    degrees = np.arange(0.0, 360.0, 5.0)
    at = [
        float(np.mean(true.radii(plane.polar_pixels(np.full(72, radius), degrees))))
        for radius in (1.0, plane.bore)
    ]
    parts = []
    for name, right, radius in (("outer", outer_right, at[0]), ("inner", inner_right, at[1])):
        if not right:
            parts.append(f"{name}: {_edge_name(true, radius)}")
    return ", ".join(parts)


def _edge_name(true: TruePicture, radius: float) -> str:
    bore = true.plane().bore
    track = true.truth.get("track") or {}
    if track.get("present"):
        half = float(true.truth["outer_diameter_mm"]) / 2
        for name in ("inner", "outer"):
            if abs(track[f"{name}_radius_mm"] / half - radius) < 0.012:
                return f"{name} edge of the track"
    near = min((("the outer edge", 1.0), ("the inner edge", bore)), key=lambda pair: abs(pair[1] - radius))
    if abs(radius - near[1]) < 0.012:
        return f"near {near[0]}"
    if radius > 1:
        return "beyond the face"
    return "on the face" if radius > bore else "within the bore"


def plain_circles(picture: Picture) -> NDArray[np.float64]:
    """Circles of OpenCV's Hough transform, best first: x, y, radius in pixels, shape = (n, 3)."""
    shrink = min(1.0, 640 / max(picture.shape[:2]))
    grey = cv2.cvtColor(
        cv2.resize(picture, None, fx=shrink, fy=shrink, interpolation=cv2.INTER_AREA), cv2.COLOR_BGR2GRAY
    )
    side = min(grey.shape)
    circles = cv2.HoughCircles(
        cv2.medianBlur(grey, 5), cv2.HOUGH_GRADIENT, 1.5, 1, param1=120, param2=60,
        minRadius=side // 16, maxRadius=side // 2,
    )  # fmt: skip
    if circles is None:
        return np.zeros((0, 3))
    return np.asarray(np.asarray(circles, np.float64).reshape(-1, 3) / shrink, np.float64)


def _score_hough(picture: Picture, outer: Ellipse, inner: Ellipse, tally: Tally) -> None:
    """The baseline: the best circle, and the best other one about the same centre."""
    found = plain_circles(picture)
    if not len(found):
        return
    best = found[0]
    near = [one for one in found[1:] if np.hypot(*(one[:2] - best[:2])) < 0.05 * best[2]]
    other = next((one for one in near if abs(one[2] / best[2] - 1) > 0.04), best)
    large, small = max(best[2], other[2]), min(best[2], other[2])
    outer_right = abs(2 * large / outer.major_px - 1) <= RIGHT
    tally.hough_outer += outer_right
    tally.hough_both += outer_right and abs(2 * small / inner.major_px - 1) <= RIGHT


def main(folders: list[str]) -> int:
    """Print figures and faults of the folders."""
    cv2.setNumThreads(1)
    for folder in folders:
        tally = score(Path(folder))
        print(folder)
        for name, value in tally.figures().items():
            print(f"  {name:<42} {value}")
        for fault in tally.faults:
            print("   ", fault)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
