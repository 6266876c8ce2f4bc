"""Learn ``capture/face/ring_weights.yaml`` anew: ``python -m bench.train_ring FOLDER…``; with ``--closer``
``ring_close_weights.yaml``, of the pairs that the second look sees about the ring of the first.

For every picture with a face, all pairs of edges that the search finds are measured; the weights are those
under which the right pair is most believed among the pairs of its picture (conditional logistic regression
with a quadratic prior, by Newton's steps). Nothing random: the same pictures make the same weights.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from bench.face_pictures import TruePicture, true_pictures
from capture.face.edges import SmallPicture
from capture.face.ring import rough_plane
from capture.face.ring_choice import choose
from capture.face.ring_closer import fine_place, reach_of
from capture.face.ring_curves import Edge
from capture.face.ring_disc import disc_rows
from capture.face.ring_pairs import measure
from capture.face.ring_search import Place, find_places

Array = NDArray[np.float64]
Pixels = Callable[[Edge, Array], Array]
"""Where an edge lies in the picture at angles of its disc, shape = (n, 2)."""
Flags = NDArray[np.bool_]

#: An edge is the true one if it runs, round about, within this share of its radius.
_RIGHT, _CLOSER_RIGHT = 0.010, 0.009
#: Standard deviation of the prior of a weight, for measures scaled to spread 1.
PRIOR = 0.5
_STEPS = 30


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """All pairs of one picture."""

    name: str
    measures: Array
    """Shape = (pairs, measures)."""
    right: Flags
    """Shape = (pairs,)."""


def sample(true: TruePicture) -> tuple[Sample, list[str]] | None:
    """Measure the pairs of a picture; None where the search finds no pair at all."""
    small, places = find_places(true.picture())
    return _sample(true, [(place, _pixels(place, small)) for place in places], _RIGHT)


def closer_sample(true: TruePicture) -> tuple[Sample, list[str]] | None:
    """Measure the pairs of the second look at a picture."""
    picture = true.picture()
    small, places = find_places(picture)
    choices = [choice for place in places if (choice := choose(place)) is not None]
    if not choices:
        return None
    best = max(choices, key=lambda choice: choice.score)
    rough = rough_plane(small, best)
    place = fine_place(picture, rough, reach_of(best))

    def pixels(edge: Edge, angles: Array) -> Array:
        return rough.polar_pixels(edge.curve.radius(angles) / disc_rows(rough), -np.degrees(angles))

    return _sample(true, [(place, pixels)], _CLOSER_RIGHT)


def _pixels(place: Place, small: SmallPicture) -> Pixels:
    to_full = small.to_full(np.eye(3))

    def pixels(edge: Edge, angles: Array) -> Array:
        radius = edge.curve.radius(angles)
        flat = np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])
        return np.asarray(place.disc.frame.pixels(flat) @ to_full[:2, :2].T + to_full[:2, 2], np.float64)

    return pixels


def _sample(
    true: TruePicture, places: list[tuple[Place, Pixels]], right: float
) -> tuple[Sample, list[str]] | None:
    rows: list[Array] = []
    flags: list[Flags] = []
    names: list[str] = []
    for place, pixels in places:
        pairs = measure(place.disc, place.edges)
        if not len(pairs.outer):
            continue
        is_outer, is_inner = _true_edges(true, place, pixels, right)
        names = list(pairs.measures)
        rows.append(np.column_stack([pairs.measures[name] for name in names]))
        flags.append(is_outer[pairs.outer] & is_inner[pairs.inner])
    if not rows:
        return None
    return Sample(true.name, np.concatenate(rows), np.concatenate(flags)), names


def _true_edges(true: TruePicture, place: Place, pixels: Pixels, right: float) -> tuple[Flags, Flags]:
    bore = true.plane().bore
    is_right = []
    angles = place.disc.angles[::6]
    for edge in place.edges:
        radii = true.radii(pixels(edge, angles))
        is_right.append(
            [
                abs(float(np.mean(radii)) / at - 1) < right
                and float(np.mean(np.abs(radii / at - 1))) < 2 * right
                for at in (1.0, bore)
            ]
        )
    both = np.array(is_right, bool)
    return both[:, 0], both[:, 1]


def learn(samples: list[Sample]) -> Array:
    """Return the weights of the measures, unscaled, shape = (measures,)."""
    taught = [one for one in samples if one.right.any()]
    spread = np.concatenate([one.measures for one in taught]).std(axis=0) + 1e-3
    scaled = [(one.measures / spread, one.right) for one in taught]
    weights = np.zeros(len(spread))
    worth = _worth(scaled, weights)
    for _ in range(_STEPS):
        slope, bend = _slopes(scaled, weights)
        move = np.linalg.solve(bend, slope)
        share = 1.0
        while share > 1e-3 and (better := _worth(scaled, weights + share * move)) <= worth:
            share /= 2
        if share <= 1e-3 or better - worth < 1e-4:
            break
        weights, worth = weights + share * move, better
    return np.asarray(weights / spread, np.float64)


def _worth(scaled: list[tuple[Array, Flags]], weights: Array) -> float:
    """Log of the belief in the right pairs, less the prior."""
    total = -0.5 * float(weights @ weights) / PRIOR**2
    for measures, right in scaled:
        total += float(np.log(_belief(measures @ weights)[right].sum() + 1e-12))
    return total


def _slopes(scaled: list[tuple[Array, Flags]], weights: Array) -> tuple[Array, Array]:
    """Slope of the worth, and its bend as far as that is never upwards."""
    slope = -weights / PRIOR**2
    bend = np.eye(len(weights)) / PRIOR**2
    for measures, right in scaled:
        belief = _belief(measures @ weights)
        chosen = belief * right
        chosen = chosen / chosen.sum()
        slope = slope + (chosen - belief) @ measures
        mean = belief @ measures
        bend = bend + (measures * belief[:, None]).T @ measures - np.outer(mean, mean)
    return np.asarray(slope, np.float64), np.asarray(bend, np.float64)


def _belief(scores: Array) -> Array:
    belief = np.exp(scores - scores.max())
    return np.asarray(belief / belief.sum(), np.float64)


def share_right(samples: list[Sample], weights: Array) -> float:
    """How often the best pair is right, of all pictures."""
    return float(np.mean([one.right[int(np.argmax(one.measures @ weights))] for one in samples]))


def main(arguments: list[str]) -> int:
    """Learn from all usable pictures of the folders and print the weights as YAML."""
    cv2.setNumThreads(1)
    look = closer_sample if "--closer" in arguments else sample
    folders = [one for one in arguments if one != "--closer"]
    measured = [
        made
        for folder in folders
        for true in true_pictures(Path(folder))
        if true.usable and (made := look(true)) is not None
    ]
    samples, names = [one for one, _ in measured], measured[0][1]
    weights = learn(samples)
    found = float(np.mean([one.right.any() for one in samples]))
    chosen = share_right(samples, weights)
    print(f"# {len(samples)} pictures; right pair found in {found:.3f}, chosen in {chosen:.3f}")
    for name, weight in zip(names, weights, strict=True):
        print(f"{name}: {weight:.4g}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
