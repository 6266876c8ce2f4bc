"""Which pair of edges is the flat face: the measures of a pair weighed by what was learnt."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import yaml
from numpy.typing import NDArray

from capture.face.ring_pairs import Measures, Pairs, measure
from capture.face.ring_search import Place
from capture.face.ring_surface import surface_measures

Array = NDArray[np.float64]

_WEIGHTS = Path(__file__).with_name("ring_weights.yaml")
_CLOSE_CURVES = Path(__file__).with_name("ring_close_curves.yaml")
_FACE_WEIGHTS = Path(__file__).with_name("ring_face_weights.yaml")
_LOOKS_WEIGHTS = Path(__file__).with_name("ring_looks_weights.yaml")

#: Where the light on both sides of an edge goes together round about as much as this, both lie in one plane:
#: a track's edge. Then a face that reaches farther there by at least this share is taken, if it is believed
#: less by no more than so much (log odds). Of 194 pictures of three makers 2 change, both of one, to right.
_ONE_PLANE, _FARTHER, _LESS = 0.7, 1.02, 1.0
#: A ring that stands free within another, which begins so far beyond it, and is believed more by no more than
#: so much, stands in its bore: a sleeve, a shaft. What holds a face lies closer round it (up to 1.13 round 13
#: right faces of sketches; 1.26 to 1.48, and once 1.1, round five rings in a bore).
_FREE, _NEARLY = 1.2, 6.0
#: A ring that the picture cuts off is left for one within it, believed less by no more than so much. Of eight
#: faces cut off one holds such a ring, less by 4.9; of three holders two hold a face, less by 1.9 and 3.8.
_ALMOST = 4.0
#: Edges nearer than this share are one.
_SAME = 0.006


@dataclass(frozen=True, slots=True, eq=False)
class Choice:
    """A pair of edges of a place."""

    place: Place
    outer: int
    inner: int
    score: float
    """Log odds, unnormalised: comparable between pairs and places."""
    least_support: float
    """Share of the circle on which the lesser seen of both edges is seen."""
    measures: dict[str, float]
    """Of the pair, by name."""
    share: float
    """Of all pairs of the place that bound much the same face, how much of the belief: 0 to 1."""
    rival: tuple[float, float] | None = None
    """Outer and inner radius of the next likely face, in those of this one; None where there is none."""

    @property
    def face(self) -> float:
        """How far the ring looks like a seal face rather than a washer, a bearing, a rim: 0 to 1."""
        return _chance(self._face_odds)

    @property
    def _face_odds(self) -> float:
        return _odds(face_weights(), {**self.measures, "score": self.score})


@cache
def weights() -> dict[str, float]:
    """Return the weight of each measure (bench/train_ring.py)."""
    return {str(name): float(value) for name, value in yaml.safe_load(_WEIGHTS.read_text("utf-8")).items()}


@cache
def face_weights() -> dict[str, float]:
    """Return the weights by which a face is told from other rings (bench/train_face_or_not.py)."""
    read = yaml.safe_load(_FACE_WEIGHTS.read_text("utf-8"))
    return {str(name): float(value) for name, value in read.items()}


@cache
def looks_weights() -> dict[str, float]:
    """Return the weights of what both looks and the pattern measure (bench/train_face_or_not.py --closer)."""
    read = yaml.safe_load(_LOOKS_WEIGHTS.read_text("utf-8"))
    return {str(name): float(value) for name, value in read.items()}


def face_by_all(first: Choice, closer: Choice, pattern: dict[str, float]) -> float:
    """Return how far a ring looks like a seal face, 0 to 1: by both looks and by what repeats on it.

    Args:
        first: chosen at the first look.
        closer: chosen at the second.
        pattern: what ``ring_pattern`` measures of the ring.
    """
    return _chance(_odds(looks_weights(), looks_measures(first, closer, pattern)))


def looks_measures(first: Choice, closer: Choice, pattern: dict[str, float]) -> dict[str, float]:
    """Return what both looks measure of the pairs that they chose, and the pattern, by name.

    What the first look says, learnt of renderers' pictures, is a measure among the others, which are learnt
    of more varied sketches.
    """
    near = {**closer.measures, "score": closer.score}
    far = {**first.measures, "score": first.score, "first_odds": first._face_odds}
    return far | {f"closer_{name}": value for name, value in near.items()} | pattern


def _odds(weighed: dict[str, float], measures: dict[str, float]) -> float:
    known = {**measures, "constant": 1.0}
    return sum(weight * known[name] for name, weight in weighed.items())


def _chance(log_odds: float) -> float:
    return float(1.0 / (1.0 + np.exp(-log_odds)))


@cache
def close_curves() -> dict[str, tuple[Array, Array]]:
    """Return what each measure of a closer look adds, by its value (bench/train_ring.py --closer).

    Returns:
        Name to knots and what is added there, shape = (knots,) each: straight between, level beyond.
    """
    read = yaml.safe_load(_CLOSE_CURVES.read_text("utf-8"))
    return {
        str(name): (np.array(one["at"], float), np.array(one["adds"], float)) for name, one in read.items()
    }


def choose(place: Place) -> Choice | None:
    """Choose the pair of a place that most speaks for at a first look, if it has any pair."""
    pairs = measure(place.disc, place.edges)
    if not len(pairs.outer):
        return None
    scores = scores_of(pairs.measures, weights())
    return _best(place, pairs, scores, int(np.argmax(scores)))


def choose_closely(place: Place, whole: NDArray[np.bool_] | None = None) -> Choice | None:
    """Choose the pair of a place that was unrolled as fine as the picture, if it has any pair.

    Args:
        place: finely unrolled.
        whole: which edges may be the outer one, shape = (edges,); none then if all such pairs are believed
            much less than the likeliest.
    """
    pairs = measure_closely(place)
    if not len(pairs.outer):
        return None
    curves = close_curves().items()
    scores = np.asarray(np.sum([np.interp(pairs.measures[name], *curve) for name, curve in curves], axis=0))
    if whole is None:
        return _best(
            place, pairs, scores, _round_a_bore(place, pairs, scores, _whole_face(place, pairs, scores))
        )
    allowed = whole[pairs.outer] & (scores > scores.max() - _ALMOST)
    if not allowed.any():
        return None
    return _best(place, pairs, scores, int(np.argmax(np.where(allowed, scores, -np.inf))))


def measure_closely(place: Place) -> Pairs:
    """Measure the pairs of such a place, what the surface between them is like as well."""
    pairs = measure(place.disc, place.edges)
    if len(pairs.outer):
        pairs.measures.update(surface_measures(place.disc, place.edges, pairs.outer, pairs.inner))
    return pairs


def _whole_face(place: Place, pairs: Pairs, scores: Array) -> int:
    """Return the likeliest pair; the likeliest that reaches farther where an edge of it lies in a plane."""
    best = int(np.argmax(scores))
    sizes = np.array([edge.curve.size for edge in place.edges])
    outer = sizes[pairs.outer] / sizes[pairs.outer[best]]
    inner = sizes[pairs.inner] / sizes[pairs.inner[best]]
    farther = np.zeros(len(scores), np.bool_)
    if pairs.measures["light_beyond"][best] > _ONE_PLANE:
        farther |= (np.abs(inner - 1) < _SAME) & (outer > _FARTHER)
    if pairs.measures["light_within"][best] > _ONE_PLANE:
        farther |= (np.abs(outer - 1) < _SAME) & (inner < 1 / _FARTHER)
    farther &= scores > scores[best] - _LESS
    return int(np.argmax(np.where(farther, scores, -np.inf))) if farther.any() else best


def _round_a_bore(place: Place, pairs: Pairs, scores: Array, best: int) -> int:
    """Return the likeliest pair; where it stands free in the bore of another, that one."""
    sizes = np.array([edge.curve.size for edge in place.edges])
    free = sizes[pairs.inner] > _FREE * sizes[pairs.outer[best]]
    free &= scores > scores[best] - _NEARLY
    return int(np.argmax(np.where(free, scores, -np.inf))) if free.any() else best


def _best(place: Place, pairs: Pairs, scores: Array, best: int) -> Choice:
    belief = np.exp(scores - scores.max())
    sizes = np.array([edge.curve.size for edge in place.edges])
    outer, inner = sizes[pairs.outer], sizes[pairs.inner]
    same = (np.abs(outer / outer[best] - 1) < 0.012) & (np.abs(inner / inner[best] - 1) < 0.012)
    next_best = int(np.argmax(np.where(same, -np.inf, scores)))
    return Choice(
        place,
        int(pairs.outer[best]),
        int(pairs.inner[best]),
        float(scores[best]),
        float(pairs.measures["least_support"][best]),
        {name: float(values[best]) for name, values in pairs.measures.items()},
        float(belief[same].sum() / belief.sum()),
        None
        if same[next_best]
        else (float(outer[next_best] / outer[best]), float(inner[next_best] / inner[best])),
    )


def scores_of(measures: Measures, weighed: dict[str, float]) -> Array:
    """Weigh the measures, shape = (pairs,)."""
    total = np.zeros(len(next(iter(measures.values()))))
    for name, weight in weighed.items():
        total += weight * measures[name]
    return total
