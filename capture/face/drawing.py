"""An inspected picture with what was found drawn onto it, and a crop of each mark."""

from __future__ import annotations

import math
import textwrap

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.inspection import Inspection
from capture.face.mark import Mark
from capture.face.pen import (
    BADGE_PX,
    DAMAGE,
    DEPOSIT,
    EDGE,
    PAPER,
    TRACK,
    Box,
    Colour,
    Points,
    badge,
    line,
    plate,
    text_size,
    write,
)
from capture.face.plane import FacePlane
from capture.face.track import Track
from capture.picture_quality import Picture
from shared.face_words import CAUTION, advice_words, is_damage, size_words, track_words, verdict_words
from shared.photo import DefectKind
from shared.sheet_entries import words_of

Degrees = NDArray[np.float64]
"""Shape = (n,); angles, or radii at them."""

#: Size of the drawing, so that lines and letters are the same for every camera; width of the legend beside it
#: and longer side of the whole picture in that.
_WIDE_PX, _LEAST_HIGH_PX = 1280, 960
_LEGEND_PX, _INSET_PX = 620, 250
_BENCH: Colour = (44, 44, 44)
#: How much is shown about the face in a close-up, in its own width and height: labels stand beside it.
_ACROSS, _UPRIGHT = 1.75, 1.36
_SIZE = 0.85
#: More marks than this are drawn with their numbers only; all stand in the report.
_LABELLED = 10
_LISTED = 8
#: Side of a crop, and how much of the surroundings it shows, in sizes of the mark.
_CROP_PX, _CROP_ROOM = 420, 0.9


def annotated(inspection: Inspection) -> Picture:
    """Return the close-up, and a legend that says it in words and shows where in the picture the face is.

    Returns:
        shape = (960 or more, 1900, 3), uint8, blue, green, red.
    """
    canvas = close_up(inspection)
    return np.asarray(np.hstack([canvas, _legend(inspection, canvas.shape[0])]), np.uint8)


def close_up(inspection: Inspection) -> Picture:
    """Return the face alone with edges, track and numbered marks; a picture that is not usable as it is.

    Returns:
        shape = (960 or more, 1280, 3), uint8, blue, green, red.
    """
    plane = inspection.plane
    return _drawn(
        inspection, *(_whole(inspection.picture) if plane is None else _about(inspection.picture, plane))
    )


def crops(inspection: Inspection) -> list[Picture]:
    """Return a crop of each mark, enlarged, its surroundings with it, nothing drawn over it."""
    if inspection.plane is None:
        return []
    return [_crop(inspection.picture, inspection.plane, mark) for mark in inspection.marks]


def mark_colour(kind: DefectKind) -> Colour:
    """Return the colour that a kind of mark is drawn in."""
    return DEPOSIT if kind == "deposit" else DAMAGE


def track_runs(track: Track | None) -> list[tuple[Degrees, tuple[Degrees, Degrees]]]:
    """Return the pieces of a track that the mate touched: angles, and the radii of both edges there."""
    if track is None or track.course is None:
        return []
    touched = track.course.touched
    step = 360 / len(touched)
    # From a gap on, if there is one, so that no piece is cut in two at three o'clock.
    start = int(np.argmin(touched))
    runs: list[tuple[Degrees, tuple[Degrees, Degrees]]] = []
    for piece in np.split(np.arange(start, start + len(touched) + 1), _changes(touched, start)):
        inside = piece[piece < start + len(touched)]
        if len(inside) and touched[inside[0] % len(touched)]:
            degrees = np.linspace(inside[0] * step, (inside[-1] + 1) * step, 2 * len(inside) + 1)
            runs.append((degrees, track.course.edges(degrees)))
    return runs


def _changes(touched: NDArray[np.bool_], start: int) -> NDArray[np.int64]:
    turned = np.roll(touched, -start)
    return np.asarray(np.flatnonzero(turned[1:] != turned[:-1]) + 1, np.int64)


Place = tuple[float, float, float, int, int]
"""Left and top of what is shown, pixels of the picture; scale to the canvas; its width and height."""


def _whole(picture: Picture) -> Place:
    height, width = picture.shape[:2]
    scale = min(_WIDE_PX / width, _LEAST_HIGH_PX / height)
    left, top = (width - _WIDE_PX / scale) / 2, (height - _LEAST_HIGH_PX / scale) / 2
    return left, top, scale, _WIDE_PX, _LEAST_HIGH_PX


def _about(picture: Picture, plane: FacePlane) -> Place:
    """Return the place of the face with room for labels about it."""
    edge = _circle(plane, 1.0)
    (left, top), (right, bottom) = edge.min(axis=0), edge.max(axis=0)
    scale = _WIDE_PX / (_ACROSS * (right - left))
    high = max(_LEAST_HIGH_PX, round(_UPRIGHT * (bottom - top) * scale))
    middle = (left + right) / 2, (top + bottom) / 2
    return middle[0] - _WIDE_PX / scale / 2, middle[1] - high / scale / 2, scale, _WIDE_PX, high


def _drawn(inspection: Inspection, left: float, top: float, scale: float, wide: int, high: int) -> Picture:
    picture = inspection.picture
    shift = 0.5 * scale - 0.5
    to_canvas = np.array([[scale, 0, shift - scale * left], [0, scale, shift - scale * top], [0, 0, 1.0]])
    if scale < 1:
        # Smaller by averaging first: a warp alone would pick single pixels.
        size = max(1, round(picture.shape[1] * scale)), max(1, round(picture.shape[0] * scale))
        picture = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)
        ratio = np.diag([1 / scale, 1 / scale, 1.0])
        ratio[:2, 2] = 0.5 / scale - 0.5
        warp = to_canvas @ ratio
    else:
        warp = to_canvas
    warped = cv2.warpAffine(
        picture, warp[:2], (wide, high), flags=cv2.INTER_CUBIC, borderMode=cv2.BORDER_CONSTANT,
        borderValue=_BENCH,
    )  # fmt: skip
    canvas = np.asarray(warped, np.uint8)
    if inspection.plane is not None:
        moved = FacePlane(to_canvas @ inspection.plane.to_px, inspection.plane.bore)
        _draw_face(canvas, inspection, moved)
    return canvas


def _draw_face(canvas: Picture, inspection: Inspection, plane: FacePlane) -> None:
    for radius in (1.0, plane.bore):
        line(canvas, _circle(plane, radius), EDGE, closed=True)
    for degrees, edges in track_runs(inspection.track):
        for radii in edges:
            line(canvas, plane.polar_pixels(radii, degrees), TRACK, dashed=True)
    taken: list[Box] = []
    for number, mark in enumerate(inspection.marks, 1):
        _draw_mark(canvas, plane, number, mark, taken, labelled=len(inspection.marks) <= _LABELLED)


def _circle(plane: FacePlane, radius: float) -> Points:
    degrees = np.arange(0, 360, 1.5)
    return plane.polar_pixels(np.full(len(degrees), radius), degrees)


def _outline(plane: FacePlane, mark: Mark, room_px: float) -> Points:
    """Return the outline of a mark's place: a piece of the ring, with a little room about it."""
    room = room_px / (plane.outer.major_px / 2)
    inner, outer = max(mark.r_in - room, 0.0), mark.r_out + room
    half = mark.arc_deg / 2 + math.degrees(room / max(mark.r_out, 0.1))
    along = np.linspace(mark.angle_deg - half, mark.angle_deg + half, max(8, round(half)))
    radii = np.concatenate([np.full(len(along), inner), np.full(len(along), outer)])
    return plane.polar_pixels(radii, np.concatenate([along, along[::-1]]))


def _draw_mark(
    canvas: Picture, plane: FacePlane, number: int, mark: Mark, taken: list[Box], *, labelled: bool
) -> None:
    colour = mark_colour(mark.kind)
    line(canvas, _outline(plane, mark, 12.0), colour, closed=True)
    text = f"{words_of(mark.kind)} {mark.angle_deg:.0f}°" if labelled else ""
    leftwards = math.cos(math.radians(mark.angle_deg)) < 0
    box = _free_place(canvas, plane, mark, text_size(text, _SIZE)[0] + 22 if text else 0, taken)
    taken.append(box)
    x = box.right - BADGE_PX // 2 if leftwards else box.left + BADGE_PX // 2
    centre = (x, (box.top + box.bottom) // 2)
    near = plane.polar_pixels(np.array([mark.r_out + 0.03]), np.array([mark.angle_deg]))
    line(canvas, np.vstack([near, np.array([centre], np.float64)]), colour, width=3)
    if text:
        plate(canvas, box, colour)
        write(canvas, text, (box.left + (10 if leftwards else BADGE_PX + 8), box.bottom - 13), _SIZE, PAPER)
    badge(canvas, number, centre, colour, square=mark.kind == "deposit")


def _free_place(canvas: Picture, plane: FacePlane, mark: Mark, text_px: int, taken: list[Box]) -> Box:
    """Return where a label may stand: outside the face at the mark's angle, off other labels if it can be."""
    height, width = canvas.shape[:2]
    wide, high = BADGE_PX + text_px, BADGE_PX
    leftwards = math.cos(math.radians(mark.angle_deg)) < 0
    first: Box | None = None
    for radius in (1.16, 1.3, 1.44, 1.58):
        for turn in (0.0, 8.0, -8.0, 16.0, -16.0, 26.0, -26.0):
            x, y = plane.polar_pixels(np.array([radius]), np.array([mark.angle_deg + turn]))[0]
            left = min(max(round(x) - (wide if leftwards else 0), 2), width - wide - 2)
            top = min(max(round(y) - high // 2, 2), height - high - 2)
            box = Box(left, top, left + wide, top + high)
            first = first or box
            if not any(box.meets(other) for other in taken):
                return box
    assert first is not None
    return first


def _legend(inspection: Inspection, height: int) -> Picture:
    legend = np.full((height, _LEGEND_PX, 3), PAPER, np.uint8)
    y = 48
    report = inspection.report
    heading = "Seal face: " + verdict_words(report) if report.usable else verdict_words(report).capitalize()
    y = _paragraph(legend, heading, y, 1.0)
    for text in advice_words(report):
        y = _paragraph(legend, text, y, _SIZE)
    if report.usable:
        y = _keyed(legend, EDGE, size_words(report), y + 8, dashed=False)
        if report.track is not None:
            y = _keyed(
                legend,
                TRACK,
                ("track: " if report.track.present else "") + track_words(report.track),
                y + 8,
                dashed=True,
            )
        for number, defect in enumerate(report.defects[:_LISTED], 1):
            colour, square = mark_colour(defect.kind), not is_damage(defect)
            badge(legend, number, (40, y + 10), colour, square=square)
            size = f", {defect.size_mm:.1f} mm" if defect.size_mm is not None else ""
            y = _paragraph(
                legend, f"{words_of(defect.kind)} at {defect.angle_deg:.0f}°{size}", y + 20, _SIZE, 74
            )
        if len(report.defects) > _LISTED:
            y = _paragraph(legend, f"and {len(report.defects) - _LISTED} more", y + 12, _SIZE, 74)
        if not report.defects:
            y = _paragraph(legend, "no marks found", y + 12, _SIZE, 74)
    _paragraph(legend, CAUTION, height - 100, 0.62)
    if inspection.plane is not None:
        _inset(legend, inspection.picture, inspection.plane, height - 130)
    return legend


def _inset(legend: Picture, picture: Picture, plane: FacePlane, bottom: int) -> None:
    """Show the whole picture, small, with the face's outer edge, its lower edge at ``bottom``."""
    height, width = picture.shape[:2]
    scale = _INSET_PX / max(height, width)
    size = max(1, round(width * scale)), max(1, round(height * scale))
    small = np.asarray(cv2.resize(picture, size, interpolation=cv2.INTER_AREA), np.uint8)
    line(small, _circle(plane, 1.0) * scale, EDGE, width=2, closed=True)
    left = _LEGEND_PX - size[0] - 18
    legend[bottom - size[1] : bottom, left : left + size[0]] = small


def _keyed(legend: Picture, colour: Colour, text: str, y: int, *, dashed: bool) -> int:
    """Write a line of the legend with the stroke that it explains before it."""
    line(legend, np.array([[18.0, y + 2], [58.0, y + 2]]), colour, dashed=dashed)
    return _paragraph(legend, text, y + 12, _SIZE, 74)


def _paragraph(legend: Picture, text: str, y: int, size: float, left: int = 18) -> int:
    """Write wrapped text and return where the next begins."""
    letters = max(8, int((legend.shape[1] - left - 12) / (18.6 * size)))
    for words in textwrap.wrap(text, letters):
        write(legend, words, (left, y), size)
        y += round(36 * size)
    return y


def _crop(picture: Picture, plane: FacePlane, mark: Mark) -> Picture:
    points = _outline(plane, mark, 2.0)
    low, high = points.min(axis=0), points.max(axis=0)
    side = float(max(*(high - low), 24.0)) * (1 + 2 * _CROP_ROOM)
    centre = (low + high) / 2
    scale = _CROP_PX / side
    shift = _CROP_PX / 2 - scale * centre
    to_crop = np.array([[scale, 0, shift[0]], [0, scale, shift[1]]])
    how = cv2.INTER_CUBIC if scale > 1 else cv2.INTER_AREA
    crop = cv2.warpAffine(
        picture, to_crop, (_CROP_PX, _CROP_PX), flags=how, borderMode=cv2.BORDER_CONSTANT, borderValue=_BENCH
    )
    return np.asarray(crop, np.uint8)
