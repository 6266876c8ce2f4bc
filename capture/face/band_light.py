"""Light bands as they are seen: the flat face without tilt and perspective, one brightness a place."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.face_form import Values, terms
from capture.face.plane import FacePlane
from capture.picture_quality import Picture

#: Places along the outer diameter at least and at most; between, so many across the width of the face.
_FEWEST, _MOST, _ACROSS = 192, 600, 20
#: Left out at either edge, in widths of the face: chamfers and blurred edges are no bands.
EDGE = 0.05
#: Burnt out; a colour that is in more than this share of the face is left out.
_BURNT_LEVEL, _BURNT_SHARE = 245, 0.02


@dataclass(frozen=True, slots=True, eq=False)
class BandLight:
    """Brightness over the face."""

    inside: NDArray[np.bool_]
    """Places of the face, shape = (places, places): the square round it, row 0 at twelve o'clock."""
    x: Values
    """Of the places inside, shape = (n,), in outer radii."""
    y: Values
    brightness: Values
    """Shape = (n,), grey levels."""
    bore: float
    px_per_radius: float
    """Pixels of the picture in an outer radius, where it shows the face smallest."""

    outside: float
    """Share of the face that is out of the picture."""
    burnt: float
    """Share of the face that is burnt out in all colours."""

    @property
    def places(self) -> int:
        """Along the outer diameter."""
        return int(self.inside.shape[0])

    def thinned(self, places: int) -> BandLight:
        """Return about so many places along the outer diameter."""
        stride = max(1, round(self.places / places))
        rows, columns = np.nonzero(self.inside)
        kept = (rows % stride == 0) & (columns % stride == 0)
        inside = self.inside[::stride, ::stride]
        return replace(self, inside=inside, x=self.x[kept], y=self.y[kept], brightness=self.brightness[kept])


def band_light(picture: Picture, plane: FacePlane) -> BandLight:
    """Take the brightness of the flat face out of a picture.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.
        plane: where the face lies in it.
    """
    outer = plane.outer
    places = int(np.clip(min(2 * _ACROSS / (1 - plane.bore), outer.minor_px), _FEWEST, _MOST))
    step_px = outer.minor_px / places
    soft = picture.astype(np.float32)
    if step_px > 1:
        # Else bands that are finer than the places would pass for coarser ones.
        soft = np.asarray(cv2.GaussianBlur(soft, (0, 0), 0.45 * step_px), np.float32)
    axis = (np.arange(places) + 0.5) * (2 / places) - 1
    x, y = np.meshgrid(axis, -axis)
    at = plane.pixels(np.column_stack([x.ravel(), y.ravel()])).reshape(places, places, 2).astype(np.float32)
    carried = cv2.remap(soft, at, None, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE)  # type: ignore[call-overload]
    seen = np.asarray(carried, np.float64)
    radius = np.hypot(x, y)
    edge = EDGE * (1 - plane.bore)
    face = (radius >= plane.bore + edge) & (radius <= 1 - edge)
    shown = face & _in_picture(at, picture)
    inside = shown & (seen.min(axis=2) < _BURNT_LEVEL)
    x, y = x[inside], y[inside]
    every = float(np.count_nonzero(face))
    return BandLight(
        inside,
        x,
        y,
        _one_colour(seen[inside], x, y),
        plane.bore,
        outer.minor_px / 2,
        outside=1 - np.count_nonzero(shown) / every,
        burnt=np.count_nonzero(shown & ~inside) / every,
    )


def _in_picture(at: NDArray[np.float32], picture: Picture) -> NDArray[np.bool_]:
    height, width = picture.shape[:2]
    return np.asarray(
        (at[..., 0] >= 0) & (at[..., 0] <= width - 1) & (at[..., 1] >= 0) & (at[..., 1] <= height - 1)
    )


def _one_colour(colours: Values, x: Values, y: Values) -> Values:
    """Return the mixture of colours that varies most, lighting aside.

    One lamp makes all colours rise and fall together, each as much as the lamp has of it (first principal
    component); a colour that the lamp lacks is noise and comes in with next to nothing.
    """
    burnt = np.mean(colours >= _BURNT_LEVEL, axis=0) > _BURNT_SHARE
    kept = colours if burnt.all() else colours[:, ~burnt]
    lighting = terms(x, y)[:, :6]
    varied = kept - lighting @ np.linalg.lstsq(lighting, kept, rcond=None)[0]
    share = np.linalg.eigh(varied.T @ varied)[1][:, -1]
    return np.asarray(kept @ (share * math.copysign(1.0, float(share.sum()))), np.float64)
