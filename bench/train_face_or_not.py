"""Learn ``capture/face/ring_face_weights.yaml`` anew: ``python -m bench.train_face_or_not FOLDER…``.

Whether the ring that was chosen is a seal face at all or a washer, a flange, a bearing, a rim, from the
measures of its pair: logistic regression with a quadratic prior. Run after ``bench.train_ring``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from bench.face_pictures import TruePicture, true_pictures
from capture.face.ring_choice import Choice, choose
from capture.face.ring_search import find_places

Array = NDArray[np.float64]

#: Standard deviation of the prior of a weight, for measures scaled to spread 1.
PRIOR = 0.3
#: How much more a picture without a face counts, for there are fewer.
_RARE = 2.0
_LEAST_SUPPORT = 0.5


def best_choice(true: TruePicture) -> Choice | None:
    """Choose as ``find_ring`` does."""
    choices = [choice for place in find_places(true.picture())[1] if (choice := choose(place)) is not None]
    choices = [choice for choice in choices if choice.least_support >= _LEAST_SUPPORT]
    return max(choices, key=lambda choice: choice.score, default=None)


def learn(measures: Array, is_face: NDArray[np.bool_]) -> Array:
    """Return the weights, the constant last."""
    middle, spread = measures.mean(axis=0), measures.std(axis=0) + 1e-3
    scaled = np.column_stack([(measures - middle) / spread, np.ones(len(measures))])
    hold = np.concatenate([np.full(measures.shape[1], 1 / PRIOR**2), [1e-4]])
    counts = np.where(is_face, 1.0, _RARE)
    weights = np.zeros(scaled.shape[1])
    for _ in range(30):
        belief = 1.0 / (1.0 + np.exp(-scaled @ weights))
        slope = scaled.T @ (counts * (is_face - belief)) - hold * weights
        bend = (scaled * (counts * belief * (1 - belief))[:, None]).T @ scaled + np.diag(hold)
        weights = weights + np.linalg.solve(bend, slope)
    return np.concatenate([weights[:-1] / spread, [weights[-1] - float((weights[:-1] / spread) @ middle)]])


def main(folders: list[str]) -> int:
    """Learn from the usable faces and the other rings of the folders and print the weights as YAML."""
    cv2.setNumThreads(1)
    rows, faces, names = [], [], []
    for true in (true for folder in folders for true in true_pictures(Path(folder))):
        if not true.usable and true.truth["kind"] in ("face", "two_rings"):
            continue
        choice = best_choice(true)
        if choice is not None:
            names = [*choice.measures, "score", "constant"]
            rows.append([*choice.measures.values(), choice.score])
            faces.append(true.usable)
    weights = learn(np.array(rows), np.array(faces))
    print(f"# bench/train_face_or_not.py: {sum(faces)} faces, {len(faces) - sum(faces)} others")
    for name, weight in zip(names, weights, strict=True):
        print(f"{name}: {weight:.4g}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
