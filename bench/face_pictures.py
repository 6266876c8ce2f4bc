"""Pictures of seal faces with their truth, as the renderers write them (fixtures/faces/README.md)."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.plane import FacePlane, three_o_clock, turned
from capture.picture_quality import Picture


@dataclass(frozen=True, slots=True, eq=False)
class TruePicture:
    """A rendered picture and what it shows."""

    path: Path
    truth: dict[str, Any]

    @property
    def name(self) -> str:
        """File name without its end."""
        return self.path.stem

    @property
    def has_face(self) -> bool:
        """Whether a face is drawn in it, usable or not."""
        return bool(self.truth.get("outer")) and bool(self.truth.get("inner"))

    @property
    def usable(self) -> bool:
        """Whether the face can be judged."""
        return bool(self.truth["usable"])

    def picture(self) -> Picture:
        """Read the picture."""
        return np.asarray(cv2.imread(str(self.path)), np.uint8)

    def plane(self) -> FacePlane:
        """The true plane, lengths in outer radii."""
        radius = float(self.truth["outer_diameter_mm"]) / 2
        to_px = np.asarray(self.truth["plane_px"], np.float64) @ np.diag([radius, radius, 1.0])
        bore = float(self.truth["inner_diameter_mm"]) / 2 / radius
        return FacePlane(np.asarray(to_px / to_px[2, 2], np.float64), bore)

    def radii(self, pixels: NDArray[np.float64]) -> NDArray[np.float64]:
        """Distance of pixels from the centre in the true plane, outer radii."""
        flat = self.plane().points(pixels)
        return np.asarray(np.hypot(flat[:, 0], flat[:, 1]), np.float64)


def true_pictures(folder: Path) -> Iterator[TruePicture]:
    """Yield the pictures of a folder that have a truth, by name."""
    for truth in sorted(folder.glob("*.json")):
        path = truth.with_suffix(".jpg")
        if path.exists():
            read = json.loads(truth.read_text("utf-8"))
            if isinstance(read, dict) and "usable" in read:
                yield TruePicture(path, as_seen(read))


def as_seen(truth: dict[str, Any]) -> dict[str, Any]:
    """Return a truth whose angles count from three o'clock as seen, exactly right of the centre.

    One renderer's axes make a symmetric stretch instead (fixtures/faces/README.md): some degrees aside on a
    tilted face. The truth's own plane tells by how much.
    """
    if not truth.get("plane_px"):
        return truth
    to_px = np.asarray(truth["plane_px"], np.float64)
    turn = three_o_clock(to_px)
    seen = {**truth, "plane_px": turned(to_px, turn).tolist()}
    for key in ("defects", "faint"):
        if key in truth:
            seen[key] = [{**each, "angle_deg": (each["angle_deg"] - turn) % 360} for each in truth[key]]
    track = truth.get("track")
    if track and track.get("offset_direction_deg") is not None:
        seen["track"] = {**track, "offset_direction_deg": (track["offset_direction_deg"] - turn) % 360}
    return seen
