"""Learn ``capture/face/ring_face_weights.yaml`` anew: ``python -m bench.train_face_or_not FOLDER…``.

Whether the ring that was chosen is a seal face at all or a washer, a flange, a bearing, a rim, from the
measures of its pair: logistic regression with a quadratic prior. Run after ``bench.train_ring``.

With ``--closer`` it prints ``ring_looks_weights.yaml``, learnt of the pairs that both looks chose and of what
repeats on the ring, onto the weights that are kept: their sum counts as one measure, and each may change by
a little, so that the folders need hold only pictures that those were not learnt of. Twins and rings that the
picture cuts off are left out, and a picture without a face counts as much as one with a face. What is kept
was learnt of fixtures/faces, 27 rendered pictures more, sketches 1 to 104 of seed 71001 and strangers 0 to
103 of seed 72001; then onto that of sketches 1 to 110 of seed 71003 and strangers 0 to 103 of seed 82001;
then onto that of 191 faces (fixtures/faces, 13 of the second renderer, 36 drawn ones, sketches 1 to 66 of
seed 71002 and 110 more) and 166 others (strangers 0 to 109 of seed 91001 and 86 more), which count alike.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from bench.face_pictures import TruePicture, true_pictures
from capture.face.ring import LEAST_SUPPORT, looked_closer, out_of_frame, rough_plane
from capture.face.ring_choice import Choice, choose, looks_measures, looks_weights
from capture.face.ring_pattern import pattern_measures
from capture.face.ring_search import find_places

Array = NDArray[np.float64]

#: Standard deviation of the prior of a weight, for measures scaled to spread 1.
PRIOR = 0.3
#: The same where weights are kept: of a change, of a measure that is new, of the sum by the kept weights.
_CHANGE, _NEW = 0.1, 0.7
#: How much more a picture without a face counts, for there are fewer.
_RARE = 2.0
_LEAST_SUPPORT = 0.5
#: How much of the sum is what the first look says by itself: it was learnt of renderers' pictures, the rest
#: of sketches as well, and what only one of them refuses may be a face of a maker that it never saw.
_FIRST = 0.2
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
    if closer is None or out_of_frame(closer.plane, picture):
        return None
    return looks_measures(first, closer.choice, pattern_measures(picture, closer.plane))


def learn(
    measures: Array, is_face: NDArray[np.bool_], rare: float = _RARE, prior: Array | None = None
) -> Array:
    """Return the weights, the constant last.

    Args:
        measures: shape = (pictures, measures).
        is_face: shape = (pictures,).
        rare: how many times as much a picture without a face counts.
        prior: standard deviation of each measure's weight, shape = (measures,).
    """
    middle, spread = measures.mean(axis=0), measures.std(axis=0) + 1e-3
    scaled = np.column_stack([(measures - middle) / spread, np.ones(len(measures))])
    prior = np.full(measures.shape[1], PRIOR) if prior is None else prior
    hold = np.concatenate([1 / prior**2, [1e-4]])
    counts = np.where(is_face, 1.0, rare)
    weights = np.zeros(scaled.shape[1])
    for _ in range(30):
        belief = 1.0 / (1.0 + np.exp(-scaled @ weights))
        slope = scaled.T @ (counts * (is_face - belief)) - hold * weights
        bend = (scaled * (counts * belief * (1 - belief))[:, None]).T @ scaled + np.diag(hold)
        weights = weights + np.linalg.solve(bend, slope)
    return np.concatenate([weights[:-1] / spread, [weights[-1] - float((weights[:-1] / spread) @ middle)]])


def learn_onto(
    names: list[str], measures: Array, is_face: NDArray[np.bool_], kept: dict[str, float]
) -> Array:
    """Return the weights of the named measures, the constant last, learnt onto kept ones."""
    old = np.array([kept.get(name, 0.0) for name in names])
    prior = np.array([_CHANGE if name in kept else _NEW for name in names] + [_NEW])
    learnt = learn(np.column_stack([measures, measures @ old]), is_face, 1.0, prior)
    weights = np.concatenate([learnt[:-2] + learnt[-2] * old, learnt[-1:]]) * (1 - _FIRST)
    weights[names.index("first_odds")] += _FIRST
    return weights


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
                names = [*measures]
                rows.append([*measures.values()])
                faces.append(true.usable)
    known, is_face = np.array(rows), np.array(faces, np.bool_)
    weights = learn_onto(names, known, is_face, looks_weights()) if closer else learn(known, is_face)
    print(f"# bench/train_face_or_not.py: {sum(faces)} faces, {len(faces) - sum(faces)} others")
    for name, weight in zip([*names, "constant"], weights, strict=True):
        print(f"{name}: {weight:.4g}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
