"""Learn ``capture/face/ring_face_weights.yaml`` anew: ``python -m bench.train_face_or_not FOLDER…``.

Whether the ring that was chosen is a seal face at all or a washer, a flange, a bearing, a rim, from the
measures of its pair: logistic regression with a quadratic prior. Run after ``bench.train_ring``.

With ``--closer`` it prints ``ring_looks_weights.yaml``, learnt of the pairs that both looks chose: twins are
left out, and a picture without a face counts as much as one with a face, for the sketches have many. What is
kept was learnt of fixtures/faces, 27 rendered pictures more, sketches 1 to 104 of seed 71001 and 0 to 103 of
``fixtures.face_sketches --strangers --seed 72001``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from bench.face_pictures import TruePicture, true_pictures
from capture.face.ring import LEAST_SUPPORT, looked_closer, rough_plane
from capture.face.ring_choice import Choice, choose, looks_measures
from capture.face.ring_search import find_places

Array = NDArray[np.float64]

#: Standard deviation of the prior of a weight, for measures scaled to spread 1.
PRIOR = 0.3
#: How much more a picture without a face counts, for there are fewer.
_RARE = 2.0
_LEAST_SUPPORT = 0.5
#: Kinds of pictures that are not to be judged and yet show a face, or no ring.
_NO_STRANGERS = ("face", "two_rings", "text", "none")


def best_choice(true: TruePicture) -> Choice | None:
    """Choose as ``find_ring`` does."""
    choices = [choice for place in find_places(true.picture())[1] if (choice := choose(place)) is not None]
    choices = [choice for choice in choices if choice.least_support >= _LEAST_SUPPORT]
    return max(choices, key=lambda choice: choice.score, default=None)


def both_looks(true: TruePicture) -> dict[str, float] | None:
    """Measure what both looks see of the ring that they chose; None where one sees none."""
    picture = true.picture()
    small, places = find_places(picture)
    choices = [choice for place in places if (choice := choose(place)) is not None]
    choices = [choice for choice in choices if choice.least_support >= LEAST_SUPPORT]
    if not choices:
        return None
    first = max(choices, key=lambda choice: choice.score)
    closer = looked_closer(picture, rough_plane(small, first), first)
    return None if closer is None else looks_measures(first, closer.choice)


def learn(measures: Array, is_face: NDArray[np.bool_], rare: float = _RARE) -> Array:
    """Return the weights, the constant last; a picture without a face counts ``rare`` times as much."""
    middle, spread = measures.mean(axis=0), measures.std(axis=0) + 1e-3
    scaled = np.column_stack([(measures - middle) / spread, np.ones(len(measures))])
    hold = np.concatenate([np.full(measures.shape[1], 1 / PRIOR**2), [1e-4]])
    counts = np.where(is_face, 1.0, rare)
    weights = np.zeros(scaled.shape[1])
    for _ in range(30):
        belief = 1.0 / (1.0 + np.exp(-scaled @ weights))
        slope = scaled.T @ (counts * (is_face - belief)) - hold * weights
        bend = (scaled * (counts * belief * (1 - belief))[:, None]).T @ scaled + np.diag(hold)
        weights = weights + np.linalg.solve(bend, slope)
    return np.concatenate([weights[:-1] / spread, [weights[-1] - float((weights[:-1] / spread) @ middle)]])


def _measured(true: TruePicture, closer: bool) -> dict[str, float] | None:
    if closer:
        return both_looks(true)
    choice = best_choice(true)
    return None if choice is None else {**choice.measures, "score": choice.score}


def main(arguments: list[str]) -> int:
    """Learn from the usable faces and the other rings of the folders and print the weights as YAML."""
    cv2.setNumThreads(1)
    closer = "--closer" in arguments
    folders = [Path(one) for one in arguments if one != "--closer"]
    rows, faces, names = [], [], []
    for folder in folders:
        trues = list(true_pictures(folder))
        twins = {true.truth.get("twin") for true in trues} if closer else set()
        for true in trues:
            if true.name in twins or (not true.usable and true.truth["kind"] in _NO_STRANGERS):
                continue
            measures = _measured(true, closer)
            if measures is not None:
                names = [*measures, "constant"]
                rows.append([*measures.values()])
                faces.append(true.usable)
    weights = learn(np.array(rows), np.array(faces), 1.0 if closer else _RARE)
    print(f"# bench/train_face_or_not.py: {sum(faces)} faces, {len(faces) - sum(faces)} others")
    for name, weight in zip(names, weights, strict=True):
        print(f"{name}: {weight:.4g}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
