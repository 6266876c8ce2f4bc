"""Learn ``capture/face/mark_weights.yaml`` anew: ``python -m bench.train_marks FOLDER…``.

Everything that may be a mark is measured on every usable face of the folders, with the true plane and with
planes a little wrong; what lies on a planted mark is right, all else chance. Weights by logistic regression
with a quadratic prior, by Newton's steps. Nothing random: the same pictures make the same weights.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import yaml
from numpy.typing import NDArray

from bench.face_defects import faces, matches, plane_of_truth
from capture.face.candidates import Candidate, lines, parts, patches
from capture.face.ground import ground_of
from capture.face.lighting import lit
from capture.face.mark import Mark
from capture.face.mark_belief import term
from capture.face.plane import FacePlane
from capture.face.strip import unrolled
from capture.face.track import find_track

Array = NDArray[np.float64]

#: By how much the planes of the training are wrong: size, right and up, in outer radii.
_ERRORS = ((0.007, 0.003, -0.002), (-0.007, -0.002, 0.003))
_SPOILT_WEIGHT = 0.8
#: Standard deviation of the prior of a weight, for measures scaled to spread 1.
_PRIOR = {"part": 1.0, "patch": 1.0, "score": 0.5, "deposit": 1.0}
_STEPS = 40
#: Measures that matter otherwise at an edge, for a line or where all is clear: their products are terms too,
#: and some squares, where more of it is not more and more of a mark.
_SOME = {
    "part": ["strength", "contrast", "clear", "signal", "length", "width", "dark", "tail_near", "colour",
             "slope", "restless", "lead", "neighbours"],
    "score": ["strength", "arc", "contrast", "step", "sided", "clear", "rim", "track_edge", "rivals", "lead",
              "fine"],
    "deposit": ["shade", "edge", "width", "slender", "length", "dark", "slope", "black", "colour"],
}  # fmt: skip
_TIMES = {"part": ["edge", "line", "strength", "clear"], "score": ["strength", "arc"], "deposit": ["colour"]}
#: Large marks are none the less marks: no squares of sizes, and none of what has a sign that matters.
_UNSQUARED = {
    "part": ["length", "width", "lead"],
    "score": ["lead"],
    "deposit": ["shade", "edge", "width", "slender", "length", "dark", "slope", "black"],
}
#: Slack of the radii of a mark that is to be the planted one, widths of the face.
_SLACK = 0.08
_WIDEST_CHECK_DEG = 20.0


@dataclass
class Taught:
    """Examples of one family."""

    names: list[str] = field(default_factory=list)
    rows: list[list[float]] = field(default_factory=list)
    right: list[bool] = field(default_factory=list)
    weight: list[float] = field(default_factory=list)
    pictures: list[str] = field(default_factory=list)

    def add(self, measures: dict[str, float], right: bool, weight: float, picture: str) -> None:
        """Add one example."""
        self.names = list(measures)
        self.rows.append(list(measures.values()))
        self.right.append(right)
        self.weight.append(weight)
        self.pictures.append(picture)


def examples(folders: list[Path]) -> dict[str, Taught]:
    """Measure all candidates of all usable faces."""
    taught = {family: Taught() for family in ("part", "patch", "score", "deposit")}
    for number, (path, truth) in enumerate(faces(folders, "all")):
        picture = np.asarray(cv2.imread(str(path)), np.uint8)
        plane = plane_of_truth(truth)
        _add_face(taught, picture, truth, plane, 1.0)
        _add_face(taught, picture, truth, _spoilt(plane, _ERRORS[number % len(_ERRORS)]), _SPOILT_WEIGHT)
    return taught


def _spoilt(plane: FacePlane, error: tuple[float, float, float]) -> FacePlane:
    grow, right, up = error
    spoil = np.array([[1 + grow, 0, right], [0, 1 + grow, up], [0, 0, 1.0]])
    return FacePlane(plane.to_px @ spoil, plane.bore)


def _add_face(
    taught: dict[str, Taught], picture: Any, truth: dict[str, Any], plane: FacePlane, weight: float
) -> None:
    light = lit(unrolled(picture, plane))
    track = find_track(light, None)
    ground = ground_of(light)
    signal = ground.signal
    name = truth["name"]
    coloured = patches(ground, signal, track)
    true_patches = []
    for one in coloured:
        hit, _ = _hit(_as_mark(one), truth)
        if hit != "unsure":
            taught["patch"].add(one.measures, hit == "deposit", weight, name)
        if hit == "deposit":
            true_patches.append(one.part)
    for line, measures in lines(ground, true_patches, track):
        hit, _ = _hit(line, truth)
        if hit in ("nothing", "deposit", "score"):
            taught["score"].add(measures, hit == "score", weight, name)
    found = [(one, *_hit(_as_mark(one), truth)) for one in parts(ground, signal, true_patches, track)]
    pieces = Counter(number for _, _, number in found)
    for one, hit, number in found:
        # Many checks of one network teach no more than one scratch.
        share = weight / pieces[number] if number is not None else weight
        if hit != "unsure":
            taught["part"].add(one.measures, hit != "nothing", share, name)
        if hit not in ("unsure", "nothing"):
            taught["deposit"].add(one.measures, hit == "deposit", share, name)


def _as_mark(one: Candidate) -> Mark:
    part = one.part
    return Mark("scratch", part.angle_deg, part.arc_deg, part.r_in, part.r_out, part.length, 0.5)


def _hit(mark: Mark, truth: dict[str, Any]) -> tuple[str, int | None]:
    """Return the kind and number of the planted mark that one lies on; nothing; or unsure, not learnt."""
    radius = truth["outer_diameter_mm"] / 2
    slack = _SLACK * (1 - truth["inner_diameter_mm"] / truth["outer_diameter_mm"])
    for number, planted in enumerate(truth["defects"]):
        near = (
            mark.r_in < planted["r_out_mm"] / radius + slack
            and mark.r_out > planted["r_in_mm"] / radius - slack
        )
        if near and matches(mark, planted):
            return str(planted["kind"]), number
    for number, planted in enumerate(truth["defects"]):
        apart = abs((mark.angle_deg - planted["angle_deg"] + 180) % 360 - 180)
        if apart < (planted["arc_deg"] + mark.arc_deg) / 2 + 3:
            check = planted["kind"] == "heat_check" and mark.arc_deg < _WIDEST_CHECK_DEG
            return ("heat_check", number) if check else ("unsure", None)
    return "unsure" if any(matches(mark, planted) for planted in truth.get("faint", [])) else "nothing", None


def terms_of(family: str, names: list[str]) -> list[str]:
    """Return the terms of a family: its measures, some products of two, some squares."""
    some, times = _SOME.get(family, []), _TIMES.get(family, [])
    products = [f"{first}*{second}" for first in times for second in some if first != second]
    squares = [f"{name}*{name}" for name in some if name not in _UNSQUARED.get(family, [])]
    # "strength*arc" and "arc*strength" are one.
    seen: set[frozenset[str]] = set()
    fresh = []
    for product in products + squares:
        pair = frozenset(product.split("*"))
        fresh += [] if pair in seen else [product]
        seen.add(pair)
    return names + fresh


def with_terms(family: str, taught: Taught) -> Taught:
    """Return the examples of a family with all its terms."""
    names = terms_of(family, taught.names)
    measured = [dict(zip(taught.names, row, strict=True)) for row in taught.rows]
    rows = [[term(name, each) for name in names] for each in measured]
    return Taught(names, rows, taught.right, taught.weight, taught.pictures)


def learn(taught: Taught, prior: float) -> dict[str, float]:
    """Return the weights of one family."""
    measures, right = np.array(taught.rows), np.array(taught.right, np.float64)
    weight = np.array(taught.weight)
    spread, middle = measures.std(axis=0) + 1e-3, measures.mean(axis=0)
    scaled = np.column_stack([(measures - middle) / spread, np.ones(len(right))])
    held = np.append(np.full(len(spread), 1 / prior**2), 1e-4)
    learnt = np.zeros(scaled.shape[1])
    for _ in range(_STEPS):
        sure = 1 / (1 + np.exp(-np.clip(scaled @ learnt, -30, 30)))
        slope = scaled.T @ (weight * (right - sure)) - held * learnt
        bend = (scaled * (weight * sure * (1 - sure))[:, None]).T @ scaled + np.diag(held)
        learnt = learnt + np.linalg.solve(bend, slope)
    plain = learnt[:-1] / spread
    named = {name: float(value) for name, value in zip(taught.names, plain, strict=True)}
    return {**named, "constant": float(learnt[-1] - plain @ middle)}


def left_out(taught: Taught, prior: float, parts_of: int = 5) -> Iterator[tuple[float, bool, float]]:
    """Yield belief, truth and weight of every example, learnt of the other pictures' examples."""
    # A picture, its twin and its harsh copies belong together.
    stems = sorted({_stem(name) for name in taught.pictures})
    fold = {stem: number % parts_of for number, stem in enumerate(stems)}
    folds = np.array([fold[_stem(name)] for name in taught.pictures])
    rows = np.array(taught.rows)
    for number in range(parts_of):
        some = Taught(taught.names)
        for at in np.flatnonzero(folds != number):
            some.add(
                dict(zip(taught.names, taught.rows[at], strict=True)), taught.right[at], taught.weight[at], ""
            )
        learnt = learn(some, prior)
        values = np.array([learnt[name] for name in taught.names])
        for at in np.flatnonzero(folds == number):
            odds = float(rows[at] @ values) + learnt["constant"]
            yield 1 / (1 + np.exp(-np.clip(odds, -30, 30))), taught.right[at], taught.weight[at]


def _stem(name: str) -> str:
    return name.removesuffix("-clean").rstrip("ths")


def main(arguments: list[str] | None = None) -> int:
    """Learn from the pictures of the folders and print the weights as YAML."""
    parser = argparse.ArgumentParser(prog="python -m bench.train_marks", description=__doc__)
    parser.add_argument("folders", nargs="+", type=Path)
    asked = parser.parse_args(arguments)
    cv2.setNumThreads(1)
    taught = examples(asked.folders)
    learnt: dict[str, dict[str, float]] = {}
    for family, plain in taught.items():
        one = with_terms(family, plain)
        told = np.array(list(left_out(one, _PRIOR[family])))
        sure, right, weight = told[:, 0] > 0.5, told[:, 1] > 0.5, told[:, 2]
        recall = weight[sure & right].sum() / weight[right].sum()
        precision = weight[sure & right].sum() / max(weight[sure].sum(), 1e-9)
        print(f"# {family}: {len(one.right)} examples, {sum(one.right)} right; pictures left out in turn: "
              f"{recall:.3f} of the right ones found, {precision:.3f} of those told right")  # fmt: skip
        learnt[family] = {name: float(f"{value:.4g}") for name, value in learn(one, _PRIOR[family]).items()}
    print(yaml.safe_dump(learnt, sort_keys=False), end="")
    return 0


if __name__ == "__main__":
    sys.exit(main())
