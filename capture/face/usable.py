"""Whether a picture shows a seal face well enough to judge it; if not, why, and what to do about it.

Said at the bench while the part is still in the hand: one short line a fault, the worst first. What is
judged is the face: its background may be as blurred, dark or bright as it likes. Where no face was found the
whole picture is judged, since blur or darkness may be why.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.edge_profiles import edge_profiles
from capture.face.face_light import BURNT, FaceLight, face_light
from capture.face.focus import FaceBlur, face_blur
from capture.face.picture_blur import picture_blur
from capture.face.plane import FacePlane
from capture.face.ring import RingFound
from capture.picture_quality import Picture
from shared.photo import Reason

#: Blur, as standard deviation in pixels: beyond it a mark 1.2 px wide, the narrowest that is looked for,
#: keeps about a fourth of its contrast (1.2 / (s sqrt(2 pi)) = 0.27). Measured on every third picture of the
#: first renderer: sharp 0 to 1.4; blurred by a disk of 12 px across 2.5 to 5.8, moved by 12 px 2.4 to 6.3
#: (one 1.7), by 20 px from 2.2 on.
MOST_BLUR_PX = 1.8
#: Blurred this many times more in one direction than across it: the part or the camera moved (moved 2.0 to
#: 12, blurred by a disk 1.0 to 1.9, four of 60 more). Blur of more, or of fewer, pixels is not told apart.
_MOVED_RATIO, _TOLD_PX, _LEAST_TOLD_PX = 2.0, 6.0, 0.5
#: A picture as sharp as this was not moved as a whole: eight such with a soft bevel have 0.8 to 0.94, six
#: moved or out of focus 1.8 and more.
_SHARP_PX = 1.2
#: Share of the face's arcs with a clear edge from which on blur is believed whatever the rest shows.
_WELL_SEEN = 0.5
#: The outer edge must be so many pixels over, the flat face so many wide where it is seen narrowest: a mark
#: of a twentieth of the face's width is then half a pixel, the least that shows.
LEAST_DIAMETER_PX, LEAST_WIDTH_PX = 170.0, 9.0
#: Beyond, the far half of the face is seen less than two thirds as wide as it is.
MOST_TILT_DEG = 50.0
#: Share of the face that glare may cover: between what the makers of the renders let pass (0.20) and call
#: glare (0.36).
MOST_GLARE = 0.28
#: Grey levels: a face whose usual level is below is lost in the camera's noise. Renders that pass have 24 and
#: more (one maker) or 65 and more (the other), dark ones 23 and less.
LEAST_LEVEL = 23.0
#: Where the picture around a burnt face is as bright as this, it is the exposure and not a lamp. Of twelve
#: renders those of glare have 95 to 172, over-exposed ones 127 to 255.
_BRIGHT_AROUND = 150.0
#: Without a face only a gross fault of the whole picture explains that: its brightest parts are dark, much of
#: it is burnt out, or even its sharpest edges are blurred.
_DARK_PICTURE, _BRIGHT_PICTURE = 45.0, 0.15
_MOST_BLUR_WITHOUT_PX = 3.0
#: Share of the outer edge that may lie outside the picture: none, but for the fit's own error.
_MOST_OUTSIDE = 0.004

#: Where these are found, blur cannot be told.
_BLIND: frozenset[Reason] = frozenset(("under_exposed", "over_exposed", "too_small", "ring_out_of_frame"))

_ABOVE = "hold the camera straight above it."
_OUT_OF_FRAME = "Part of the ring is outside the picture: step back or move it to the middle."
_TOO_DARK = "Too dark: put more light on the face."
_TOO_BRIGHT = "Too bright: turn the lamp aside or lower the exposure."
_FOCUS = "Out of focus: let the camera focus on the face itself, a little farther away."
_MOVED = "Blurred by movement: rest the camera or the part."
_MAY_HAVE_MOVED = (
    "The face's edges are softer one way than across it, what lies around it is not: "
    "if the part was held in the hand, rest it and take it again."
)

_Grey = NDArray[np.uint8]
_Fault = tuple[Reason, str]


@dataclass(frozen=True, slots=True)
class Usability:
    """The verdict."""

    reasons: list[Reason]
    """Empty where the picture can be used."""
    advice: str
    """A plain sentence or two; of a picture that can be used: what is doubtful, else empty."""


def judge_face(picture: Picture, found: RingFound) -> Usability:
    """Judge a picture of a seal face.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.
        found: what :func:`capture.face.ring.find_ring` found in it.
    """
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.uint8)
    if found.plane is None:
        return _verdict(_of_refused(picture, grey, found) or _without_face(grey, found))
    faults = _of_view(grey, found.plane, found) + _of_light(face_light(picture, found.plane))
    if _BLIND.intersection(reason for reason, _ in faults):
        return _verdict(faults)
    blurred = _of_blur(face_blur(edge_profiles(grey, found.plane)), grey)
    if blurred == [("motion_blur", _MOVED)] and picture_blur(grey).most_px <= _SHARP_PX:
        # A camera that moves blurs all of the picture; a bevel that is soft on two sides does not.
        return _verdict(faults) if faults else Usability([], _MAY_HAVE_MOVED)
    return _verdict(faults + blurred)


def _verdict(faults: list[_Fault]) -> Usability:
    return Usability([reason for reason, _ in faults], " ".join(advice for _, advice in faults))


def _of_view(grey: _Grey, plane: FacePlane, found: RingFound) -> list[_Fault]:
    if found.reason is not None:
        return [_named(found)]
    height, width = grey.shape
    rim = plane.polar_pixels(np.ones(360), np.arange(360.0))
    outside = ~((rim >= 0).all(axis=1) & (rim[:, 0] <= width - 1) & (rim[:, 1] <= height - 1))
    if outside.mean() > _MOST_OUTSIDE:
        return [("ring_out_of_frame", _OUT_OF_FRAME)]
    faults: list[_Fault] = []
    outer = plane.outer
    narrowest = (1 - plane.bore) * outer.minor_px / 2
    if plane.tilt_deg > MOST_TILT_DEG:
        faults.append(("too_tilted", f"Seen too much from the side ({plane.tilt_deg:.0f} degrees): {_ABOVE}"))
    elif outer.major_px < LEAST_DIAMETER_PX or narrowest < LEAST_WIDTH_PX:
        faults.append(("too_small", f"The face is only {outer.major_px:.0f} pixels across: go nearer."))
    return faults


def _named(found: RingFound) -> _Fault:
    """Return why there is no face to judge, in words."""
    reason: Reason = found.reason or "no_ring"
    what = found.what.strip()
    if reason == "two_rings":
        return reason, f"There are {what or 'two rings'} in the picture: show one face alone."
    if reason == "ring_out_of_frame":
        return reason, _OUT_OF_FRAME
    if what.startswith(("a ", "an ", "the ", "two ")):
        return reason, f"This looks like {what}, not a seal face: show the flat face from above."
    return reason, "No seal face found: put it in the middle, seen from above, on a plain ground."


def _of_light(light: FaceLight) -> list[_Fault]:
    if light.burnt > MOST_GLARE:
        if light.around >= _BRIGHT_AROUND:
            return [("over_exposed", _TOO_BRIGHT)]
        return [("glare", f"Glare covers {_share_words(light.burnt)} of the face: move the lamp.")]
    if light.usual < LEAST_LEVEL:
        return [("under_exposed", _TOO_DARK)]
    return []


def _of_blur(blur: FaceBlur, grey: _Grey) -> list[_Fault]:
    if math.isnan(blur.most_px):
        # No clear edge at all on the face: hidden in noise, or blurred away. The picture around it tells.
        blur = picture_blur(grey)
        if math.isnan(blur.most_px):
            return [("out_of_focus", _FOCUS)]
    faults = _blurred(blur, MOST_BLUR_PX)
    if faults and blur.seen < _WELL_SEEN and picture_blur(grey).most_px <= MOST_BLUR_PX:
        # Few clear edges say so, and the picture around them is sharp: they are soft by themselves.
        return []
    return faults


def _blurred(blur: FaceBlur, most_px: float) -> list[_Fault]:
    if math.isnan(blur.most_px) or blur.most_px <= most_px:
        return []
    if min(blur.most_px, _TOLD_PX) > _MOVED_RATIO * max(blur.least_px, _LEAST_TOLD_PX):
        return [("motion_blur", _MOVED)]
    return [("out_of_focus", _FOCUS)]


def _of_refused(picture: Picture, grey: _Grey, found: RingFound) -> list[_Fault]:
    """Return why a ring that looks like no seal face may be one all the same: its light, or blur."""
    if found.refused is None:
        return []
    if faults := _of_light(face_light(picture, found.refused)):
        return faults
    if not picture_blur(grey).most_px > MOST_BLUR_PX:
        return []
    return _of_blur(face_blur(edge_profiles(grey, found.refused)), grey)


def _without_face(grey: _Grey, found: RingFound) -> list[_Fault]:
    """Return why no face was found: a fault of the whole picture, if it has a gross one."""
    if found.reason not in (None, "no_ring"):
        return [_named(found)]
    if np.percentile(grey, 98) < _DARK_PICTURE:
        return [("under_exposed", _TOO_DARK)]
    if _bright(grey) > _BRIGHT_PICTURE:
        return [("over_exposed", _TOO_BRIGHT)]
    return _blurred(picture_blur(grey), _MOST_BLUR_WITHOUT_PX) or [_named(found)]


def _bright(grey: _Grey) -> float:
    """Return the share of the picture that is burnt out."""
    return float(np.mean(grey[::2, ::2] >= BURNT))


def _share_words(share: float) -> str:
    known = {0.25: "a quarter", 1 / 3: "a third", 0.5: "half", 2 / 3: "two thirds", 0.75: "three quarters"}
    nearest = min(known, key=lambda one: abs(one - share))
    return "nearly all" if share > 0.87 else known[nearest]
