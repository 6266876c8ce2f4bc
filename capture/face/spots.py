"""How much each pixel of a face looks as if it lay in a spot: discs against their surroundings."""

from __future__ import annotations

import cv2
import numpy as np

from capture.face.ground import MAD, Map

#: Spread of the smaller Gaussian in pixels, largest as a share of the face's width.
_SMALLEST, _LARGEST_SHARE = 1.2, 0.2
_STEP = 1.7
#: Spread of the surroundings in spreads of the disc.
_AROUND = 2.0
_MOST_OF_ONE_PIXEL = 8.0


def spots_of(signal: Map) -> Map:
    """Return the largest response of a spot over the scales in standard deviations, light or dark.

    Args:
        signal: stray of each pixel in standard deviations, shape = (rows, columns), the ring closed.
    """
    rows, columns = signal.shape
    best = np.zeros(signal.shape, np.float32)
    clipped = np.clip(signal, -_MOST_OF_ONE_PIXEL, _MOST_OF_ONE_PIXEL)
    spread, shrink = _SMALLEST, 1
    while spread * shrink <= max(_SMALLEST, _LARGEST_SHARE * rows):
        response = _discs(clipped, spread)
        if shrink > 1:
            large = cv2.resize(response, (columns, rows), interpolation=cv2.INTER_LINEAR)
            response = np.asarray(large, np.float32)
        np.maximum(best, response, out=best)
        spread *= _STEP
        if spread > 2.4:
            # Large discs need no small pixels.
            height, width = clipped.shape
            size = ((width + 1) // 2, (height + 1) // 2)
            clipped = np.asarray(cv2.resize(clipped, size, interpolation=cv2.INTER_AREA), np.float32)
            spread, shrink = spread / 2, shrink * 2
    return best


def _discs(signal: Map, spread: float) -> Map:
    pad = min(int(4 * spread * _AROUND) + 1, signal.shape[1])
    wide = np.hstack([signal[:, -pad:], signal, signal[:, :pad]])
    inner = cv2.GaussianBlur(wide, (0, 0), spread, borderType=cv2.BORDER_REFLECT_101)
    outer = cv2.GaussianBlur(wide, (0, 0), spread * _AROUND, borderType=cv2.BORDER_REFLECT_101)
    response = np.abs(inner - outer)[:, pad:-pad]
    deviation = MAD * float(np.median(response[::2, ::3]))
    return np.asarray(response / max(deviation, 1e-3), np.float32)
