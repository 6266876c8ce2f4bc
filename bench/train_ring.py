"""Learn which pair of edges is the face, of rendered pictures.

``python -m bench.train_ring FOLDER…`` prints ``capture/face/ring_weights.yaml``: weights of the measures of
the first look's pairs. With ``--closer`` it prints ``ring_close_curves.yaml``: for each measure of the pairs
that the second look sees about the ring of the first, what it adds by its value. A folder given twice counts
twice. Twins (a picture again, without its marks) have the same edges and are left out. The same pictures give
the same numbers to three digits (OPENBLAS_NUM_THREADS=1 makes it several times faster).
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from bench.face_pictures import TruePicture, true_pictures
from bench.pair_belief import Flags, Sample, learn_curves, learn_weights
from capture.face.edges import SmallPicture
from capture.face.ring import rough_plane
from capture.face.ring_choice import choose, measure_closely
from capture.face.ring_closer import fine_place, reach_of
from capture.face.ring_curves import Edge
from capture.face.ring_disc import disc_rows
from capture.face.ring_pairs import Pairs, measure
from capture.face.ring_search import Place, find_places

Array = NDArray[np.float64]
Pixels = Callable[[Edge, Array], Array]
"""Where an edge lies in the picture at angles of its disc, shape = (n, 2)."""

#: An edge is the true one if it runs, round about, within this share of its radius.
_RIGHT, _CLOSER_RIGHT = 0.010, 0.009


def sample(true: TruePicture) -> tuple[Sample, list[str]] | None:
    """Measure the pairs of a picture; None where the search finds no pair at all."""
    small, places = find_places(true.picture())
    looked = [(place, measure(place.disc, place.edges), _pixels(place, small)) for place in places]
    return _sample(true, looked, _RIGHT)


def closer_sample(true: TruePicture) -> tuple[Sample, list[str]] | None:
    """Measure the pairs of the second look at a picture."""
    picture = true.picture()
    small, places = find_places(picture)
    choices = [choice for place in places if (choice := choose(place)) is not None]
    if not choices:
        return None
    best = max(choices, key=lambda choice: choice.score)
    rough = rough_plane(small, best)
    reach = reach_of(best)
    place = fine_place(picture, rough, reach)
    rows = disc_rows(rough, reach)

    def pixels(edge: Edge, angles: Array) -> Array:
        return rough.polar_pixels(edge.curve.radius(angles) / rows, -np.degrees(angles))

    return _sample(true, [(place, measure_closely(place), pixels)], _CLOSER_RIGHT)


def _pixels(place: Place, small: SmallPicture) -> Pixels:
    to_full = small.to_full(np.eye(3))

    def pixels(edge: Edge, angles: Array) -> Array:
        radius = edge.curve.radius(angles)
        flat = np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])
        return np.asarray(place.disc.frame.pixels(flat) @ to_full[:2, :2].T + to_full[:2, 2], np.float64)

    return pixels


def _sample(
    true: TruePicture, looked: list[tuple[Place, Pairs, Pixels]], right: float
) -> tuple[Sample, list[str]] | None:
    rows: list[Array] = []
    flags: list[Flags] = []
    names: list[str] = []
    for place, pairs, pixels in looked:
        if not len(pairs.outer):
            continue
        is_outer, is_inner = _true_edges(true, place, pixels, right)
        names = list(pairs.measures)
        rows.append(np.column_stack([pairs.measures[name] for name in names]))
        flags.append(is_outer[pairs.outer] & is_inner[pairs.inner])
    if not rows:
        return None
    return Sample(true.name, np.concatenate(rows).astype(np.float32), np.concatenate(flags)), names


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


def measured(
    folder: Path, look: Callable[[TruePicture], tuple[Sample, list[str]] | None]
) -> list[tuple[Sample, list[str]]]:
    """Measure all usable pictures of a folder but the twins."""
    trues = list(true_pictures(folder))
    twins = {true.truth.get("twin") for true in trues}
    taken = [true for true in trues if true.usable and true.name not in twins]
    return [made for true in taken if (made := look(true)) is not None]


def weights_text(samples: list[Sample], names: list[str]) -> Iterator[str]:
    """Learn weights and yield them as lines of YAML."""
    weights = learn_weights(samples)
    yield _found(samples, [one.measures @ weights for one in samples])
    for name, weight in zip(names, weights, strict=True):
        yield f"{name}: {weight:.4g}"


def curves_text(samples: list[Sample], names: list[str]) -> Iterator[str]:
    """Learn curves and yield them as lines of YAML."""
    curves = learn_curves(samples)
    yield _found(samples, [curves.scores(one.measures) for one in samples])
    for name, at, adds in zip(names, curves.knots, curves.adds, strict=True):
        first, second = (", ".join(f"{value:.4g}" for value in values) for values in (at, adds))
        yield f"{name}: {{at: [{first}], adds: [{second}]}}"


def _found(samples: list[Sample], scores: list[Array]) -> str:
    found = float(np.mean([one.right.any() for one in samples]))
    chosen = float(
        np.mean([one.right[int(np.argmax(score))] for one, score in zip(samples, scores, strict=True)])
    )
    return f"# {len(samples)} pictures; right pair found in {found:.3f}, chosen in {chosen:.3f}"


def main(arguments: list[str]) -> int:
    """Learn from all usable pictures of the folders and print what was learnt as YAML."""
    cv2.setNumThreads(1)
    closer = "--closer" in arguments
    folders = [Path(one) for one in arguments if one != "--closer"]
    known = {folder: measured(folder, closer_sample if closer else sample) for folder in set(folders)}
    taught = [one for folder in folders for one in known[folder]]
    text = (curves_text if closer else weights_text)([one for one, _ in taught], taught[0][1])
    print(*text, sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
