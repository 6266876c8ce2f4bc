"""From a picture to what it shows of a seal face: ring, verdict, scale, strip, light, track, marks."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

import cv2
import numpy as np

from capture.face.defects import find_defects
from capture.face.lighting import LitStrip, lit
from capture.face.mark import Mark
from capture.face.marker import find_marker
from capture.face.plane import FacePlane
from capture.face.ring import RingFound, find_ring
from capture.face.strip import unrolled
from capture.face.track import Track, find_track
from capture.face.usable import judge_face
from capture.picture_quality import Picture
from shared.errors import DiameterInvalid, PictureUnreadable
from shared.photo import Ellipse, FaceReport, Reason

#: A longer side than this is made smaller before anything is looked for: the face of a phone's 12 megapixels
#: then still has more pixels than that of a bench camera's 1280 x 960, at a ninth of the time and memory.
MOST_SIDE_PX = 1920
#: Below this no face could be told from a dot.
_LEAST_SIDE_PX = 32
#: What a usable picture's report advises where another pair of edges may be the face's.
_UNSURE = "Not sure where the flat face ends: a bevel, a step or a track may have been taken for its edge."
_COMPARE = (
    "Compare the lines drawn with the face before any length is used, or take it again with other light."
)
#: The next likely face's edge is another than this one's where it differs by this share.
_OTHER_EDGE = 0.006
#: And where the ring itself may be that of another part.
_NO_FACE = (
    "Not sure that this is a seal face: a washer, a rim or a cap may look like one. "
    "Look at the part before anything told here is used."
)
#: Decimals of a report: far finer than any picture measures, coarse enough to be the same on every machine.
_DECIMALS = 4


@dataclass(frozen=True, slots=True, eq=False)
class Inspection:
    """A report, and what it was made from, for drawing and for comparing."""

    report: FaceReport
    picture: Picture
    """As it was looked at: at most ``MOST_SIDE_PX`` on its longer side."""
    scale: float
    """Pixels of the given picture to one of ``picture``."""
    found: RingFound
    mm_per_radius: float | None = None
    """Millimetres to one outer radius; None without a scale or where the picture is not usable."""
    plane: FacePlane | None = None
    """Of ``picture``; this and what follows are None and empty where the picture is not usable."""
    strip: LitStrip | None = None
    track: Track | None = None
    marks: tuple[Mark, ...] = ()
    """In the order of the report's defects."""


def inspect_face(picture: Picture, outer_diameter_mm: float | None = None) -> FaceReport:
    """Report what a picture shows of the face of a mechanical seal.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red, upright; any size.
        outer_diameter_mm: of the flat face, as the job sheet gives it; a marker in the picture wins.

    Returns:
        The contract's FaceReport; unusable: the reasons and what to do, no geometry, empty lists.

    Raises:
        DiameterInvalid: the diameter is no length above zero.
        PictureUnreadable: the array is no such picture.
    """
    return inspect_picture(picture, outer_diameter_mm).report


def inspect_picture(picture: Picture, outer_diameter_mm: float | None = None) -> Inspection:
    """As :func:`inspect_face`, with all that the report was made from."""
    _check_picture(picture)
    check_diameter(outer_diameter_mm)
    small, scale = _bounded(picture)
    if min(small.shape[:2]) < _LEAST_SIDE_PX:
        found = RingFound(None, "no_ring", "", 0.0)
        advice = "Too few pixels: take it nearer, at the camera's full size."
        return Inspection(_unusable(["too_small"], advice), small, scale, found)
    found = find_ring(small)
    verdict = judge_face(small, found)
    if verdict.reasons or found.plane is None:
        reasons = list(verdict.reasons) or [found.reason or "no_ring"]
        return Inspection(_unusable(reasons, verdict.advice), small, scale, found)
    seen = _judged(small, scale, found, found.plane, outer_diameter_mm)
    doubts = [verdict.advice, "" if found.is_face else _NO_FACE, "" if found.sure else _unsure(found)]
    advice = " ".join(doubt for doubt in doubts if doubt)
    return replace(seen, report=seen.report.model_copy(update={"advice": advice}))


def _unsure(found: RingFound) -> str:
    """Return the doubt about the edges, and which others they may be."""
    names = ("outer", "inner")
    others = [
        f"{name} diameter {abs(ratio - 1):.1%} {'larger' if ratio > 1 else 'smaller'}"
        for name, ratio in zip(names, found.rival or (1.0, 1.0), strict=True)
        if abs(ratio - 1) > _OTHER_EDGE
    ]
    asked = [f"It may be the face with the {' and the '.join(others)}."] if others else []
    return " ".join([_UNSURE, *asked, _COMPARE])


def _judged(
    picture: Picture, scale: float, found: RingFound, plane: FacePlane, given_mm: float | None
) -> Inspection:
    marker_mm = find_marker(picture, plane)
    mm_per_radius = marker_mm or (given_mm / 2 if given_mm is not None else None)
    strip = lit(unrolled(picture, plane))
    track = find_track(strip, mm_per_radius)
    marks = tuple(find_defects(strip, track))
    outer = _enlarged(plane.outer, scale)
    report = FaceReport(
        usable=True,
        outer=outer,
        inner=_enlarged(plane.inner, scale),
        px_per_mm=outer.major_px / (2 * mm_per_radius) if mm_per_radius else None,
        scale_from="marker" if marker_mm else "sheet" if mm_per_radius else "none",
        outer_diameter_mm=2 * mm_per_radius if mm_per_radius else None,
        inner_diameter_mm=2 * plane.bore * mm_per_radius if mm_per_radius else None,
        track=track.report(mm_per_radius),
        defects=[mark.report(mm_per_radius) for mark in marks],
    )
    return Inspection(_rounded(report), picture, scale, found, mm_per_radius, plane, strip, track, marks)


def check_diameter(outer_diameter_mm: float | None) -> None:
    """Refuse what is no diameter.

    Raises:
        DiameterInvalid: it is zero, negative, infinite or no number.
    """
    if outer_diameter_mm is not None and not 0 < outer_diameter_mm < math.inf:
        raise DiameterInvalid(
            f"no face has an outside diameter of {outer_diameter_mm} mm",
            expected="millimetres above zero, such as 44.5",
            remedy="leave it out where it is not known",
        )


def _check_picture(picture: Picture) -> None:
    shape, kind = np.shape(picture), getattr(picture, "dtype", None)
    if len(shape) != 3 or shape[2] != 3 or not all(shape) or kind != np.uint8:
        raise PictureUnreadable(
            f"this is no picture: shape {shape}, {kind}",
            expected="shape (height, width, 3), uint8, blue, green, red",
        )


def _bounded(picture: Picture) -> tuple[Picture, float]:
    """Return the picture at most ``MOST_SIDE_PX`` long, and how many of its pixels one of that is."""
    height, width = picture.shape[:2]
    scale = max(height, width) / MOST_SIDE_PX
    if scale <= 1:
        return picture, 1.0
    size = max(1, round(width / scale)), max(1, round(height / scale))
    small = cv2.resize(picture, size, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8), scale


def _enlarged(ellipse: Ellipse, scale: float) -> Ellipse:
    """Return an ellipse in pixels of the given picture; the middle of a pixel is at its whole number."""
    x, y = ellipse.centre_px
    return Ellipse(
        centre_px=((x + 0.5) * scale - 0.5, (y + 0.5) * scale - 0.5),
        major_px=ellipse.major_px * scale,
        minor_px=ellipse.minor_px * scale,
        angle_deg=ellipse.angle_deg,
    )


def _unusable(reasons: list[Reason], advice: str) -> FaceReport:
    return FaceReport(usable=False, reasons=reasons, advice=advice)


def _rounded(report: FaceReport) -> FaceReport:
    return FaceReport.model_validate(_round(report.model_dump()))


def _round(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, _DECIMALS)
    if isinstance(value, dict):
        return {name: _round(each) for name, each in value.items()}
    if isinstance(value, list | tuple):
        return [_round(each) for each in value]
    return value
