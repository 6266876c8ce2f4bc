"""Whether a reviewer can see anything in a picture: focus and exposure.

Focus is judged by how much edges stand out of the picture's own noise, in the direction in which they do
least: movement blurs one direction only, and camera noise is not sharpness. The grey levels are first
stretched to a usual contrast, so that a dim picture is not called blurred.

Measured on drawn parts, 1280 px wide (fixtures/pictures and tests/capture/test_picture_quality.py): sharp
ones have 14 to 58, with camera noise of 8 levels 12 to 55; blurred by a Gaussian of 3 px 0.3 to 2.6, of
8 px below 1, by a movement of 17 px 0.3 to 2 (compressed as video up to 3). A Gaussian of 2 px, on the
border, has 1.2 to 9.
"""

from __future__ import annotations

import cv2
import numpy as np
from numpy.typing import NDArray

from shared.photo import PictureQuality, Reason

Picture = NDArray[np.uint8]
"""Shape = (height, width, 3), blue, green, red."""
_Grey = NDArray[np.float32]

_WIDTH_PX = 640
_MOST_HEIGHT_PX = 2560
_DARK, _BRIGHT = 8, 250
#: In the least sharp direction, grey levels squared at usual contrast.
_FOCUS_LEAST = 4.0
#: Blurred in one direction by movement: the sharpest direction still has this much, and so many times more.
_MOVED_LEAST, _MOVED_RATIO = 6.0, 8.0
#: Spread of the grey levels (1st to 99th percentile) that is stretched to, and how far at most.
_USUAL_SPREAD, _MOST_STRETCH = 160.0, 4.0
#: A picture of which more than half is lost; a part lit on black cloth is not, so something must be dim too.
_LOST_SHARE = 0.5
_DIM_LEVEL = 64
#: A shorter side than this shows no detail of a part.
_LEAST_SIDE_PX = 240

#: Second differences along 0, 90, 45 and 135 degrees; the diagonals are halved for their longer step.
_SECOND_DIFFERENCES: tuple[NDArray[np.float32], ...] = tuple(
    np.array(kernel, np.float32)
    for kernel in (
        [[0, 0, 0], [1, -2, 1], [0, 0, 0]],
        [[0, 1, 0], [0, -2, 0], [0, 1, 0]],
        [[0, 0, 0.5], [0, -1, 0], [0.5, 0, 0]],
        [[0.5, 0, 0], [0, -1, 0], [0, 0, 0.5]],
    )
)

_ADVICE: dict[Reason, str] = {
    "too_small": "Too few pixels: take it nearer, at the camera's full size.",
    "under_exposed": "Too dark: put more light on the part and take it again.",
    "over_exposed": "Too bright: turn the lamp aside or shade the part, and take it again.",
    "out_of_focus": "Out of focus: step back a little, let the camera focus on the part, and take it again.",
    "motion_blur": "Blurred by movement: rest the camera or the part, and take it again.",
}


def judge_picture(picture: Picture) -> PictureQuality:
    """Judge focus and exposure.

    Args:
        picture: shape = (height, width, 3), uint8, blue, green, red.

    Returns:
        Whether it is usable; if not, why, and what to do.
    """
    grey = _scaled_grey(picture)
    dark_share = float(np.mean(grey < _DARK + 0.5))
    bright_share = float(np.mean(grey >= _BRIGHT - 0.5))
    reasons = _reasons(picture, grey, dark_share, bright_share)
    return PictureQuality(
        usable=not reasons,
        reasons=reasons,
        advice=" ".join(_ADVICE[reason] for reason in reasons),
        sharpness=sharpness(picture),
        dark_share=dark_share,
        bright_share=bright_share,
    )


def sharpness(picture: Picture) -> float:
    """Return the variance of the Laplacian at 640 px width, grey levels squared.

    For comparing pictures of one scene, as in a burst or a video; it rises with noise and with contrast.
    Source: variance of the Laplacian as focus measure, Pech-Pacheco et al., ICPR 2000.
    """
    return grey_sharpness(_scaled_grey(picture))


def grey_sharpness(grey: NDArray[np.float32]) -> float:
    """Return the same for a grey picture that is 640 px wide already, shape = (height, 640)."""
    return float(cv2.Laplacian(grey, cv2.CV_32F).var())


def _scaled_grey(picture: Picture) -> _Grey:
    height, width = picture.shape[:2]
    # A strip of a picture must not be blown up without end.
    size = (_WIDTH_PX, min(max(1, round(height * _WIDTH_PX / width)), _MOST_HEIGHT_PX))
    how = cv2.INTER_AREA if width > _WIDTH_PX else cv2.INTER_LINEAR
    # Floats before scaling: the finer levels are what tells noise from none in a dim picture.
    grey = np.asarray(cv2.cvtColor(picture, cv2.COLOR_BGR2GRAY), np.float32)
    return np.asarray(cv2.resize(grey, size, interpolation=how), np.float32)


def _reasons(picture: Picture, grey: _Grey, dark_share: float, bright_share: float) -> list[Reason]:
    found: list[Reason] = []
    if min(picture.shape[:2]) < _LEAST_SIDE_PX:
        found.append("too_small")
    if dark_share > _LOST_SHARE and np.percentile(grey, 95) < _DIM_LEVEL:
        found.append("under_exposed")
    elif bright_share > _LOST_SHARE:
        found.append("over_exposed")
    elif blur := _blur(grey):
        # In a picture that is too dark or too bright nobody can tell.
        found.append(blur)
    return found


def _blur(grey: _Grey) -> Reason | None:
    low, high = np.percentile(grey, [1, 99])
    stretch = float(np.clip(_USUAL_SPREAD / max(high - low, 1.0), 1.0, _MOST_STRETCH))
    edges = [
        _above_noise(np.asarray(cv2.filter2D(grey, cv2.CV_32F, kernel), np.float32)) * stretch**2
        for kernel in _SECOND_DIFFERENCES
    ]
    weakest, strongest = min(edges), max(edges)
    if weakest >= _FOCUS_LEAST:
        return None
    moved = strongest >= _MOVED_LEAST and strongest >= _MOVED_RATIO * weakest
    return "motion_blur" if moved else "out_of_focus"


def _above_noise(differences: _Grey) -> float:
    """Return the variance beyond that of the noise, which unlike edges is everywhere.

    The noise's standard deviation is 1.4826 times the median absolute deviation (that of a Gaussian).
    """
    noise = 1.4826 * float(np.median(np.abs(differences - np.median(differences))))
    return max(float(differences.var()) - noise**2, 0.0)
