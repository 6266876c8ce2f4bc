"""The surface between two edges tells a lapped face from a smooth shell round it; curves are learnt."""

from __future__ import annotations

import numpy as np
import pytest

from bench.pair_belief import Sample, belief, learn_curves, learn_weights
from capture.face.ring_closer import fine_place
from capture.face.ring_surface import surface_measures
from fixtures.drawn_rings import Layer, View, drawn

pytestmark = pytest.mark.issue(5)

VIEW = View(radius_px=120.0, texture=5.0, noise=0.3)


def measures_of(shell: Layer) -> dict[str, float]:
    """Of the true pair of a face in a shell."""
    layers = (shell, Layer(1.0, 140), Layer(0.7, 60, opening=True))
    place = fine_place(drawn(VIEW, layers), VIEW.plane(bore=0.7), 1.5)
    rows = place.disc.radii[-1] / 1.5
    sizes = np.array([edge.curve.size for edge in place.edges]) / rows
    outer, inner = (np.array([int(np.argmin(np.abs(sizes - at)))]) for at in (1.0, 0.7))
    return {
        name: float(values[0])
        for name, values in surface_measures(place.disc, place.edges, outer, inner).items()
    }


def test_a_face_is_rougher_than_a_smooth_shell_and_as_rough_as_a_rough_one() -> None:
    smooth, rough = (measures_of(Layer(1.4, 100, grain=grain)) for grain in (0.05, 1.0))
    assert smooth["grain_outer"] > 0.5
    assert abs(rough["grain_outer"]) < 0.3


def test_light_that_swings_beyond_an_edge_is_another_surface() -> None:
    bevel, flat = (measures_of(Layer(1.4, 100, gloss=gloss)) for gloss in (0.5, 0.0))
    assert bevel["swing_more_beyond"] > flat["swing_more_beyond"] + 1
    assert bevel["swing_face"] < -2


def test_all_is_a_number_however_narrow_the_pair() -> None:
    place = fine_place(drawn(VIEW), VIEW.plane(), 1.5)
    every = np.arange(len(place.edges))
    outer, inner = (grid.ravel() for grid in np.meshgrid(every, every))
    for name, values in surface_measures(place.disc, place.edges, outer, inner).items():
        assert np.isfinite(values).all(), name


def test_a_curve_learns_what_no_weight_can() -> None:
    chance = np.random.default_rng(1)
    samples = []
    for n in range(60):
        wanted = chance.normal(0, 0.1, (1, 1))
        others = chance.choice([-1.0, 1.0], (30, 1)) * chance.uniform(1, 2, (30, 1))
        measures = np.concatenate([others, wanted]).astype(np.float32)
        samples.append(Sample(str(n), measures, np.arange(31) == 30))
    curves, weights = learn_curves(samples), learn_weights(samples)
    right = [int(np.argmax(curves.scores(one.measures))) == 30 for one in samples]
    assert all(right)
    assert belief(samples[0].measures @ weights)[30] < 0.2
