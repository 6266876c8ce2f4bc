"""Where a face may lie under an optical flat, whose bands look to the ring finder like no face at all."""

from __future__ import annotations

from collections.abc import Iterator

import cv2
import numpy as np

from capture.face.plane import FacePlane
from capture.face.ring import find_ring
from capture.picture_quality import Picture

#: Dark bands narrower than this are closed, shares of the shorter side of the picture; tried in this order.
_CLOSED = (0.0, 0.04, 0.06, 0.03)


def planes_under_flat(picture: Picture) -> Iterator[FacePlane]:
    """Yield planes that the face may have, likelier ones first; whoever counts the bands must check each.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.
    """
    for share in _CLOSED:
        side = 2 * round(share * min(picture.shape[:2]) / 2) + 1
        kernel = cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (side, side))
        closed = cv2.morphologyEx(picture, cv2.MORPH_CLOSE, kernel) if side > 1 else picture
        found = find_ring(np.asarray(closed, np.uint8), least_face=0.0)
        if found.plane is not None:
            yield found.plane
