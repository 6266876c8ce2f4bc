"""``python -m bench.face_tracks FOLDER``: wear tracks found on pictures with their truth, scored.

Each NAME.jpg has a NAME.json beside it (format: fixtures/faces). The plane is that of the truth, so that
this measures light and track alone; ``--plane-error 0.005`` spoils it by half a per cent of the diameter,
``--found`` takes the plane of the ring finder wherever that is near the true one.
"""

from __future__ import annotations

import argparse
import json
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from bench.face_pictures import as_seen
from capture.face.lighting import lit
from capture.face.plane import FacePlane
from capture.face.ring import find_ring
from capture.face.strip import unrolled
from capture.face.track import find_track
from capture.face.track_evidence import Evidence
from shared.photo import WearTrack

#: Edges farther off than this share of the face's width are another ring's.
_ANOTHER_RING = 0.1


@dataclass(frozen=True)
class Scored:
    """One picture."""

    name: str
    wanted: dict[str, Any]
    found: WearTrack
    face_width_mm: float
    proof: Evidence | None
    spent_ms: float

    @property
    def radius_error(self) -> float | None:
        """Mean error of both radii, in widths of the face."""
        if self.found.inner_radius_mm is None or self.wanted["inner_radius_mm"] is None:
            return None
        assert self.found.outer_radius_mm is not None
        inner = abs(self.found.inner_radius_mm - self.wanted["inner_radius_mm"])
        outer = abs(self.found.outer_radius_mm - self.wanted["outer_radius_mm"])
        return float((inner + outer) / 2 / self.face_width_mm)

    @property
    def offset_error_mm(self) -> float | None:
        """Distance between the centres, found and true."""
        if self.found.offset_mm is None or self.wanted["offset_mm"] is None:
            return None
        assert self.found.offset_direction_deg is not None
        there = self.found.offset_mm * np.exp(1j * np.radians(self.found.offset_direction_deg))
        true = self.wanted["offset_mm"] * np.exp(1j * np.radians(self.wanted["offset_direction_deg"]))
        return float(abs(there - true))


def plane_of(truth: dict[str, Any], error: float = 0.0, seed: int = 0) -> FacePlane:
    """Return the plane of a truth file, its centre and size off by this share of the diameter."""
    radius = truth["outer_diameter_mm"] / 2
    random = np.random.default_rng(seed)
    turn = random.uniform(0, 2 * np.pi)
    grow = 1 + error * random.choice([-1, 1])
    spoilt = np.array([[grow, 0, 2 * error * np.cos(turn)], [0, grow, 2 * error * np.sin(turn)], [0, 0, 1.0]])
    to_px = np.array(truth["plane_px"], np.float64) @ np.diag([radius, radius, 1.0]) @ spoilt
    return FacePlane(to_px, truth["inner_diameter_mm"] / truth["outer_diameter_mm"])


def found_plane(picture: NDArray[np.uint8], true: FacePlane) -> FacePlane | None:
    """Return the plane that the ring finder finds, unless it is another ring's."""
    plane = find_ring(picture).plane
    if plane is None:
        return None
    degrees = np.arange(0.0, 360.0, 10.0)
    for there, here in ((1.0, 1.0), (plane.bore, true.bore)):
        back = true.points(plane.polar_pixels(np.full(36, there), degrees))
        if np.abs(np.hypot(*back.T) - here).max() > _ANOTHER_RING * (1 - true.bore):
            return None
    return plane


def score(path: Path, plane_error: float, *, found: bool = False) -> Scored | None:
    """Score one picture; None where it has no face to look at."""
    truth = as_seen(json.loads(path.read_text(encoding="utf-8")))
    if not truth["usable"] or truth["kind"] != "face" or truth["track"] is None:
        return None
    picture = cv2.imread(str(path.with_suffix(".jpg")))
    assert picture is not None
    plane = plane_of(truth, plane_error, sum(map(ord, truth["name"])))
    image = np.asarray(picture, np.uint8)
    if found:
        seen = found_plane(image, plane)
        if seen is None:
            return None
        plane = seen
    strip = unrolled(image, plane)
    started = time.perf_counter()
    radius = truth["outer_diameter_mm"] / 2
    track = find_track(lit(strip), radius)
    spent = 1e3 * (time.perf_counter() - started)
    width = radius * (1 - plane.bore)
    return Scored(truth["name"], truth["track"], track.report(radius), width, track.proof, spent)


def measure(folder: Path, plane_error: float = 0.0, *, found: bool = False) -> list[Scored]:
    """Score every picture of a folder."""
    every = (score(path, plane_error, found=found) for path in sorted(folder.glob("*.json")))
    return [one for one in every if one is not None]


def figures(scored: list[Scored]) -> dict[str, Any]:
    """Return counts, confusions and errors."""
    right = sum(one.found.evenness == one.wanted["evenness"] for one in scored)
    pairs = Counter((one.wanted["evenness"], one.found.evenness) for one in scored)
    radii = [e for one in scored if (e := one.radius_error) is not None]
    offsets = [e for one in scored if (e := one.offset_error_mm) is not None]
    return {
        "pictures": len(scored),
        "evenness_right": round(right / max(len(scored), 1), 4),
        "confusion": {f"{wanted} as {found}": count for (wanted, found), count in sorted(pairs.items())},
        "radius_error_mean": round(float(np.mean(radii)), 4) if radii else None,
        "radius_error_p90": round(float(np.quantile(radii, 0.9)), 4) if radii else None,
        "offset_error_mean_mm": round(float(np.mean(offsets)), 4) if offsets else None,
        "offset_within_0_15_mm": round(float(np.mean(np.array(offsets) <= 0.15)), 4) if offsets else None,
        "spent_median_ms": round(float(np.median([one.spent_ms for one in scored])), 1) if scored else None,
    }


def _worst_first(scored: list[Scored]) -> list[Scored]:
    def key(one: Scored) -> tuple[bool, float]:
        return one.found.evenness == one.wanted["evenness"], -(one.radius_error or 0.0)

    return sorted(scored, key=key)


def _told(proof: Evidence | None) -> str:
    if proof is None:
        return "not looked at"
    return (
        f"energy {proof.energy:6.0f} support {proof.support:.2f} coherent {proof.coherence:.2f} "
        f"share {proof.share:.2f}"
    )


def main() -> None:
    """Print the figures of a folder; with --all each picture, worst first."""
    parser = argparse.ArgumentParser(prog="python -m bench.face_tracks")
    parser.add_argument("folder", type=Path)
    parser.add_argument("--plane-error", type=float, default=0.0)
    parser.add_argument("--found", action="store_true")
    parser.add_argument("--all", action="store_true")
    options = parser.parse_args()
    scored = measure(options.folder, options.plane_error, found=options.found)
    for one in _worst_first(scored) if options.all else []:
        error, offset = one.radius_error, one.offset_error_mm
        print(
            f"{one.name:28} {one.wanted['evenness']:7} {one.found.evenness:9} {_told(one.proof)} "
            f"judged {one.found.judged_share:.2f} "
            f"radii {-1 if error is None else error:.3f} offset {-1 if offset is None else offset:.3f}"
        )
    print(json.dumps(figures(scored), indent=2))


if __name__ == "__main__":
    main()
