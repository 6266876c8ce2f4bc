"""The light taken out of an unrolled face: what is left is the face's own brightness.

Brightness is light times surface, so in the logarithm the two add. Light changes slowly along the ring
(a lamp to one side makes one side bright and the other dark); a wear track is a function of the radius that
goes all round. The light is therefore fitted as a few Fourier terms in the angle, whose slope and bend
across the face may change with the angle as well, to what a profile of the radius (the median of each row)
does not explain; rows and light in turn, strays weighted down. A profile that is the same all round is
never taken for light. What sharper light remains (the edge of a shadow, a window's reflection) is the same
across the whole width nearly everywhere: a running median along the ring takes it out, edges and all, and
leaves scratches, which are narrower than its window.

Hidden is what no light can be taken out of: glare that is clipped and the bright halo about it, shadow so
deep that the picture holds no detail, and what lies outside the picture.
"""

from __future__ import annotations

from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.strip import Strip

Flat = NDArray[np.float32]
Mask = NDArray[np.bool_]

#: Fourier orders along the ring of the light, of its slope and of its bend across the face. More of the
#: first would ring at the edge of a shadow, and the running median would take the ringing for the face.
_LEVEL_ORDERS, _SLOPE_ORDERS, _BEND_ORDERS = 2, 3, 2
#: Cells that the light is fitted to: across and along.
_CELLS = (16, 180)
_ROUNDS = 4
#: A residual of so many robust standard deviations weighs half as much (Cauchy weights; common practice).
_STRAY = 2.0
#: Window of the running median along the ring, degrees: what is narrower than half of it is no light.
_SHARP_LIGHT_DEG = 16.0
#: Thirds of the width are alike where the least light has this share of the most.
_ALIKE = 0.5
#: Grey levels, sRGB. From this on a channel is clipped (JPEG brings clipped areas down a little); at and
#: below the other nothing but noise is left.
_CLIPPED, _BLACK = 249, 3
#: The halo of glare reaches down to this share of the way from the face's usual brightness to clipped.
_HALO_SHARE = 0.6
#: Deep shadow is darker than this share of the face's usual brightness (linear light). Half of one side's
#: light can be missing from a face that is still legible; eleven twelfths cannot.
_SHADOW_SHARE = 1 / 12
#: Smallest patch of glare and of shadow, in widths of the face: scratches glint, chips are dark.
_LEAST_GLARE, _LEAST_SHADOW = 0.06, 0.35
#: How far the halo reaches beyond what is bright, in widths of the face.
_HALO_REACH = 0.03
#: Linear light that is added before the logarithm: one step of an 8-bit sRGB picture near black.
_FLOOR = 1 / (255 * 12.92)

_LEVELS = np.arange(256) / 255.0
#: Linear light of a grey level. Source: IEC 61966-2-1 (sRGB).
_LINEAR = np.where(_LEVELS <= 0.04045, _LEVELS / 12.92, ((_LEVELS + 0.055) / 1.055) ** 2.4).astype(np.float32)
#: Share of blue, green and red in luminance. Source: ITU-R BT.709.
_LUMINANCE = np.array([[0.0722, 0.7152, 0.2126]], np.float32)


@dataclass(frozen=True, slots=True, eq=False)
class LitStrip:
    """A face unrolled, its lighting taken out."""

    strip: Strip
    flat: Flat
    """Natural logarithm of brightness without the light, shape = (rows, columns); 0 = the face's usual."""
    hidden: Mask
    """Glare, deep shadow or outside the picture, shape = (rows, columns)."""
    judged_share: float
    """Share of the flat face that is not hidden, 0 to 1."""


def lit(strip: Strip) -> LitStrip:
    """Take the light out of a strip and mark what it hides."""
    bright = _linear_light(strip)
    hidden = _hidden(strip, bright)
    logs = np.log(bright + _FLOOR)
    face = strip.face_rows
    flat = np.asarray(logs - _smooth_light(strip, logs, hidden), np.float32)
    flat -= _sharp_light(flat[face], hidden[face])
    seen = flat[face][~hidden[face]]
    if seen.size:
        flat -= np.median(seen[:: max(1, seen.size // 20_000)])
    return LitStrip(strip, flat, hidden, float(1 - hidden[face].mean()))


def _linear_light(strip: Strip) -> Flat:
    linear = cv2.LUT(strip.picture, _LINEAR)
    return np.asarray(cv2.transform(linear, _LUMINANCE), np.float32).reshape(linear.shape[:2])


def _hidden(strip: Strip, bright: Flat) -> Mask:
    face = strip.face_rows
    width = face.stop - face.start
    usual = float(np.median(bright[face][:, ::7]))
    brightest = strip.picture.max(axis=2)
    hidden = _glare(bright, brightest >= _CLIPPED, usual, width)
    dark = (bright < _SHADOW_SHARE * usual) | (brightest <= _BLACK)
    hidden = hidden | _opened(dark, _LEAST_SHADOW * width)
    return hidden if strip.outside is None else hidden | strip.outside


def _glare(bright: Flat, clipped: Mask, usual: float, width: int) -> Mask:
    """Return the patches of clipped pixels, the bright surroundings joined to them, and a rim."""
    seeds = _opened(clipped, _LEAST_GLARE * width)
    if not seeds.any():
        return seeds
    level = usual + _HALO_SHARE * (1.0 - usual)
    # Twice round, so that a patch across three o'clock is one.
    twice = np.hstack([(bright >= level) | seeds] * 2).astype(np.uint8)
    _, labels = cv2.connectedComponents(twice)
    columns = bright.shape[1]
    joined = np.zeros(int(labels.max()) + 1, np.bool_)
    joined[np.unique(labels[:, :columns][seeds])] = True
    joined[np.unique(labels[:, columns:][seeds])] = True
    joined[0] = False
    both = joined[labels]
    return _grown(both[:, :columns] | both[:, columns:], _HALO_REACH * width)


def _disc(diameter: float) -> NDArray[np.uint8]:
    size = max(1, round(diameter))
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), np.uint8)


def _opened(mask: Mask, diameter: float) -> Mask:
    """Return the parts of a mask that a disc fits into; the ring is closed."""
    if not mask.any():
        return mask
    pad = round(diameter) + 1
    ring = np.hstack([mask[:, -pad:], mask, mask[:, :pad]]).astype(np.uint8)
    # Beyond the strip's first and last row nobody knows: there the mask goes on as it ends.
    wide = cv2.copyMakeBorder(ring, pad, pad, 0, 0, cv2.BORDER_REPLICATE)
    opened = cv2.morphologyEx(wide, cv2.MORPH_OPEN, _disc(diameter))
    return np.asarray(opened[pad:-pad, pad:-pad] > 0, np.bool_)


def _grown(mask: Mask, reach: float) -> Mask:
    pad = round(reach) + 1
    wide = np.hstack([mask[:, -pad:], mask, mask[:, :pad]]).astype(np.uint8)
    return np.asarray(cv2.dilate(wide, _disc(2 * reach + 1))[:, pad:-pad] > 0, np.bool_)


def _smooth_light(strip: Strip, logs: Flat, hidden: Mask) -> NDArray[np.float64]:
    """Return the light of every pixel, shape = (rows, columns), from cells of the face that can be seen."""
    face = strip.face_rows
    cells, weight = _cells(logs[face], hidden[face])
    across, along = cells.shape
    height = np.linspace(-1, 1, across)
    terms = _terms(np.repeat(height, along), np.tile(_angles(along), across))
    values, trust = cells.ravel(), weight.ravel()
    light = np.zeros_like(values)
    robust = trust.copy()
    for _ in range(_ROUNDS):
        profile = _row_medians((values - light).reshape(across, along), weight > 0)
        target = values - np.repeat(profile, along)
        square = terms.T @ (terms * robust[:, None]) + 1e-3 * np.eye(terms.shape[1])
        light = terms @ np.linalg.solve(square, terms.T @ (target * robust))
        stray = np.abs(target - light)
        spread = max(1.4826 * float(np.median(stray[trust > 0])) if np.any(trust > 0) else 0.0, 1e-3)
        robust = trust / (1 + (stray / (_STRAY * spread)) ** 2)
    fitted = light.reshape(across, along).astype(np.float32)
    return _spread_out(fitted, logs.shape, face)


def _terms(height: NDArray[np.float64], angle: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return the terms of the light, shape = (cells, terms); none is a function of the radius alone."""
    columns = [np.ones_like(angle)]
    for power, orders in enumerate((_LEVEL_ORDERS, _SLOPE_ORDERS, _BEND_ORDERS)):
        for order in range(1, orders + 1):
            columns += [height**power * np.cos(order * angle), height**power * np.sin(order * angle)]
    return np.column_stack(columns)


def _angles(along: int) -> NDArray[np.float64]:
    return np.asarray((np.arange(along) + 0.5) * (2 * np.pi / along), np.float64)


def _cells(logs: Flat, hidden: Mask) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return the mean of what is seen in each cell and the seen share, each of shape = _CELLS."""
    size = (_CELLS[1], _CELLS[0])
    seen = 1.0 - hidden.astype(np.float32)
    share = cv2.resize(seen, size, interpolation=cv2.INTER_AREA).astype(np.float64)
    total = cv2.resize(np.where(hidden, 0, logs), size, interpolation=cv2.INTER_AREA).astype(np.float64)
    mean = total / np.maximum(share, 1e-6)
    return np.where(share > 0.2, mean, 0.0), np.where(share > 0.2, share, 0.0)


def _row_medians(values: NDArray[np.float64], seen: Mask) -> NDArray[np.float64]:
    """Return the median of what is seen of each row, shape = (rows,); 0 where nothing is."""
    # By hand: NumPy's medians of masked arrays take ten times as long.
    order = np.sort(np.where(seen, values, np.inf), axis=1)
    count = seen.sum(axis=1)
    row = np.arange(len(values))
    lower, upper = np.maximum(count - 1, 0) // 2, np.minimum(count // 2, order.shape[1] - 1)
    return np.where(count > 0, (order[row, lower] + order[row, upper]) / 2, 0.0)


def _spread_out(fitted: Flat, shape: tuple[int, ...], face: slice) -> NDArray[np.float64]:
    """Return the light at every pixel; beyond the edges it goes on as at the edge."""
    wrapped = np.hstack([fitted[:, -2:], fitted, fitted[:, :2]])
    across, along = fitted.shape
    columns = (np.arange(shape[1]) + 0.5) * (along / shape[1]) - 0.5 + 2
    inside = (np.arange(shape[0]) - face.start) / max(face.stop - face.start - 1, 1)
    height = np.clip(inside, 0, 1) * (across - 1)
    at_x = np.broadcast_to(columns.astype(np.float32), shape).copy()
    at_y = np.broadcast_to(height.astype(np.float32)[:, None], shape).copy()
    return np.asarray(cv2.remap(wrapped, at_x, at_y, cv2.INTER_LINEAR), np.float64)


def _in_common(stray: NDArray[np.float64], seen: Mask) -> NDArray[np.float64]:
    """Return what inner, middle and outer third of each column all have, shape = (columns,).

    A deposit as wide as the window but not as broad as the face is no light. Where the thirds are much alike,
    the whole column's median is the better measure.
    """
    cuts = np.array_split(np.arange(len(stray)), 3)
    thirds = np.array([_row_medians(stray[cut].T, seen[cut].T) for cut in cuts])
    known = np.array([seen[cut].any(axis=0) for cut in cuts])
    least = np.where(known, thirds, np.inf).min(axis=0)
    most = np.where(known, thirds, -np.inf).max(axis=0)
    shared = np.where(least > 0, least, np.where(most < 0, most, 0.0))
    alike = np.abs(shared) > _ALIKE * np.maximum(np.abs(least), np.abs(most))
    return np.where(alike, _row_medians(stray.T, seen.T), np.where(known.any(axis=0), shared, 0.0))


def _sharp_light(flat: Flat, hidden: Mask) -> Flat:
    """Return what the whole width of the face has in common at each column, narrow things apart."""
    across, along = flat.shape
    step = max(1, across // 40)
    seen = ~hidden[::step]
    some = np.asarray(flat[::step], np.float64)
    rows = _row_medians(some[:, ::5], seen[:, ::5])
    columns = _in_common(some - rows[:, None], seen)
    known = np.flatnonzero(seen.mean(axis=0) > 0.2)
    if not known.size:
        return np.zeros(along, np.float32)
    columns = np.interp(np.arange(along), known, columns[known], period=along)
    half = max(1, round(_SHARP_LIGHT_DEG / 720 * along))
    wrapped = np.concatenate([columns[-half:], columns, columns[:half]])
    windows = np.lib.stride_tricks.sliding_window_view(wrapped, 2 * half + 1)
    # Every fourth column of a window is enough for its median.
    return np.asarray(np.median(windows[:, half % 4 :: 4], axis=1), np.float32)
