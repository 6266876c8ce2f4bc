"""Learning from pictures which pair of edges is the face: weights of measures, or curves over them.

Conditional logistic regression: the right pair shall be most believed among the pairs of its picture; a
quadratic prior, Newton's steps. Nothing random: the same samples make the same weights.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

#: Standard deviations of the priors of a weight and of a curve's bends, for measures scaled to spread 1.
PRIOR, CURVE_PRIOR = 0.5, 0.3
_STEPS = 30
#: Where a curve bends and where it ends, in spreads from the mean of its measure.
_BENDS, _ENDS = (-1.0, 0.0, 1.0), (-4.0, 4.0)
#: Curves are learnt of the right pairs and, of the others, those that weights believe most; these weights of
#: every so many-th pair.
_HARDEST, _EVERY = 150, 8


@dataclass(frozen=True, slots=True, eq=False)
class Sample:
    """All pairs of one picture."""

    name: str
    measures: Array
    """Shape = (pairs, measures)."""
    right: Flags
    """Shape = (pairs,)."""


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """What each measure adds to the belief, by its value: straight between knots, level beyond."""

    knots: Array
    """Shape = (measures, knots)."""
    adds: Array
    """Shape = (measures, knots)."""

    def scores(self, measures: Array) -> Array:
        """Return the log odds of pairs, unnormalised."""
        each = zip(measures.T, self.knots, self.adds, strict=True)
        return np.asarray(sum(np.interp(values, at, adds) for values, at, adds in each), np.float64)


def learn_weights(samples: list[Sample], every: int = 1) -> Array:
    """Return the weights of the measures, unscaled, shape = (measures,)."""
    taught = [one for one in samples if one.right.any()]
    spread = np.concatenate([one.measures for one in taught]).std(axis=0) + 1e-3
    kept = [one.right | (np.arange(len(one.right)) % every == 0) for one in taught]
    scaled = [
        ((one.measures / spread)[keep], one.right[keep]) for one, keep in zip(taught, kept, strict=True)
    ]
    return np.asarray(_learnt(scaled, PRIOR) / spread, np.float64)


def learn_curves(samples: list[Sample]) -> Curves:
    """Return a curve for every measure."""
    taught = [one for one in samples if one.right.any()]
    rough = learn_weights(taught, _EVERY)
    hard = [_hardest(one, rough) for one in taught]
    together = np.concatenate([one.measures for one in taught])
    mean, spread = together.mean(axis=0), together.std(axis=0) + 1e-3
    bent = [(_bent((one.measures - mean) / spread), one.right) for one in hard]
    weights = _learnt(bent, CURVE_PRIOR).reshape(1 + len(_BENDS), -1)
    at = np.array([_ENDS[0], *_BENDS, _ENDS[1]])
    knots = mean[:, None] + at * spread[:, None]
    adds = np.stack([_bent(np.full((1, 1), one))[0] @ weights for one in at], axis=1)
    return Curves(knots, adds)


def _hardest(one: Sample, weights: Array) -> Sample:
    order = np.argsort(-(one.measures @ weights), kind="stable")[:_HARDEST]
    keep = one.right.copy()
    keep[order] = True
    return Sample(one.name, one.measures[keep], one.right[keep])


def _bent(scaled: Array) -> Array:
    """Return the measures and what of them lies above each bend, shape = (pairs, (1 + bends) * measures)."""
    within = np.clip(scaled, *_ENDS).astype(np.float32)
    return np.concatenate([within, *(np.maximum(within - bend, 0) for bend in _BENDS)], axis=1)


def _learnt(scaled: list[tuple[Array, Flags]], prior: float) -> Array:
    weights = np.zeros(scaled[0][0].shape[1])
    worth = _worth(scaled, weights, prior)
    for _ in range(_STEPS):
        slope, bend = _slopes(scaled, weights, prior)
        move = np.linalg.solve(bend, slope)
        share = 1.0
        while share > 1e-3 and (better := _worth(scaled, weights + share * move, prior)) <= worth:
            share /= 2
        if share <= 1e-3:
            break
        gained, weights, worth = better - worth, weights + share * move, better
        if gained < 1e-3:
            break
    return weights


def _worth(scaled: list[tuple[Array, Flags]], weights: Array, prior: float) -> float:
    """Log of the belief in the right pairs, less the prior."""
    total = -0.5 * float(weights @ weights) / prior**2
    for measures, right in scaled:
        total += float(np.log(belief(measures @ weights)[right].sum() + 1e-12))
    return total


def _slopes(scaled: list[tuple[Array, Flags]], weights: Array, prior: float) -> tuple[Array, Array]:
    """Slope of the worth, and its bend as far as that is never upwards."""
    slope = -weights / prior**2
    bend = np.eye(len(weights)) / prior**2
    for measures, right in scaled:
        chances = belief(measures @ weights)
        chosen = chances * right
        chosen = chosen / chosen.sum()
        slope = slope + (chosen - chances) @ measures
        mean = chances @ measures
        rooted = measures * np.sqrt(chances)[:, None].astype(measures.dtype)
        bend = bend + rooted.T @ rooted - np.outer(mean, mean)
    return np.asarray(slope, np.float64), np.asarray(bend, np.float64)


def belief(scores: Array) -> Array:
    """Return how far each pair of a picture is believed, of all its pairs."""
    share = np.exp(scores - scores.max())
    return np.asarray(share / share.sum(), np.float64)
