"""Whether the bands end at the edges of the face; if not, the face is not where it was found."""

from __future__ import annotations

import numpy as np

from capture.face.band_light import band_light
from capture.face.face_form import QUADRIC, WEDGE, FaceForm, Values, terms
from capture.face.plane import FacePlane
from capture.picture_quality import Picture

#: Rings outside the edges that are looked at, from and to so many outer radii away; and the widest inside.
_TO = 0.1
_OUTSIDE = ((0.012, 0.035), (0.02, _TO))
#: An edge smears bands so far out, by blur and JPEG, pixels.
_BLURRED_PX = 4.0
#: Rings inside begin so far from the edge: it is blurred.
_INSIDE = 0.008
#: Of the half that a wave varies by, so much must be left beside the lighting; bands that run along a ring
#: leave less.
_LEAST_WAVE = 0.15
#: Fewer places tell nothing.
_FEWEST = 200


def bands_beyond(picture: Picture, plane: FacePlane, form: FaceForm) -> float:
    """Return how much of the variation just outside the edges they explain, 0 to 1, on the worse side."""
    blurred = _BLURRED_PX / (plane.outer.minor_px / 2)
    away = [(max(near, blurred), far) for near, far in _OUTSIDE if far > blurred + near]
    rings = [(1 + near, 1 + far) for near, far in away]
    if plane.bore > 2 * _TO:
        rings += [(plane.bore - far, plane.bore - near) for near, far in away]
    told = [_explained(picture, plane, form, ring, QUADRIC, 0.0) for ring in rings]
    return max((each for each in told if each is not None), default=0.0)


def bands_within(picture: Picture, plane: FacePlane, form: FaceForm) -> float:
    """Return how much of the variation just inside the edges they explain, 0 to 1, on the worse side."""
    width = min(_TO, 1 - plane.bore) / 2
    rings = [(1 - width, 1 - _INSIDE), (plane.bore + _INSIDE, plane.bore + width)]
    told = [_explained(picture, plane, form, ring, WEDGE, _LEAST_WAVE) for ring in rings]
    return min((each for each in told if each is not None), default=1.0)


def _explained(
    picture: Picture,
    plane: FacePlane,
    form: FaceForm,
    ring: tuple[float, float],
    lit_by: int,
    least_wave: float,
) -> float | None:
    """Return the share explained in a ring, outer radii; None where nobody can tell bands from lighting."""
    inner, outer = ring
    scaled = FacePlane(plane.to_px @ np.diag([outer, outer, 1.0]), inner / outer)
    light = band_light(picture, scaled)
    if light.x.size < _FEWEST:
        return None
    x, y = light.x * outer, light.y * outer
    phase = 2 * np.pi * form.height(x, y)
    lighting = terms(x, y)[:, :lit_by]
    waves = np.column_stack([np.cos(phase), np.sin(phase)])
    if float(np.mean(_besides(lighting, waves) ** 2)) < least_wave:
        return None
    without = _besides(lighting, light.brightness[:, None])
    left = _besides(np.hstack([lighting, waves]), light.brightness[:, None])
    return 1 - float(np.sum(left**2)) / (float(np.sum(without**2)) + 1e-9)


def _besides(columns: Values, values: Values) -> Values:
    """Return what of the values the columns leave."""
    return np.asarray(values - columns @ np.linalg.lstsq(columns, values, rcond=None)[0], np.float64)
