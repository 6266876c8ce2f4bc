"""Pieces of one line put together again: noise, a wear track's edge or glare breaks lines into pieces."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from capture.face.ground import Ground, Map
from capture.face.parts import Part, part_of

#: A gap of a line is no longer than this share of the longer piece, and at least so many pixels count as one.
_GAP_SHARE, _GAP_PX = 1.3, 6.0
#: The same for a piece that is no line itself.
_NEAR_SHARE = 0.4
#: Pieces point the same way within so many degrees.
_SAME_WAY_DEG = 20.0
_SLENDER = 2.2
#: How far beside the longer piece's middle line a piece may lie, in pixels.
_BESIDE_PX = 5.0


def joined(parts: list[Part], ground: Ground, signal: Map) -> list[Part]:
    """Return the parts with those in one line put together."""
    left = sorted(parts, key=lambda part: -part.length)
    done: list[Part] = []
    while left:
        part = left.pop(0)
        if part.slender >= _SLENDER:
            fitting = next((other for other in left if _in_line(part, other, ground)), None)
            if fitting is not None:
                left.remove(fitting)
                left.insert(0, _together(part, fitting, ground, signal))
                continue
        done.append(part)
    return done


def _in_line(one: Part, other: Part, ground: Ground) -> bool:
    """Tell whether the second, shorter one goes on where the first ends."""
    pixel = float(ground.radii[1] - ground.radii[0])
    reach = max(_GAP_SHARE * one.length, _GAP_PX * pixel) + (one.length + other.length) / 2
    turn = (other.angle_deg - one.angle_deg + 180) % 360 - 180
    if abs(math.radians(turn)) > reach * 1.5 or (one.light - 0.5) * (other.light - 0.5) < 0:
        return False
    ours, theirs = _points(one, ground, one), _points(other, ground, one)
    middle = ours.mean(axis=0)
    _, axes = np.linalg.eigh(np.cov((ours - middle).T))
    along, beside = (theirs - middle) @ axes[:, 1], (theirs - middle) @ axes[:, 0]
    ends = (ours - middle) @ axes[:, 1]
    gap = max(float(along.min() - ends.max()), float(ends.min() - along.max()), 0.0)
    limit = _BESIDE_PX * pixel + 0.15 * gap + 2 * one.bend * one.length
    if abs(float(beside.mean())) > limit:
        return False
    if other.slender < _SLENDER:
        near = gap < max(_NEAR_SHARE * one.length, _GAP_PX * pixel)
        return near and other.length < 0.3 * one.length
    if gap > max(_GAP_SHARE * one.length, _GAP_PX * pixel):
        return False
    step = theirs - theirs.mean(axis=0)
    _, their_axes = np.linalg.eigh(step.T @ step)
    return abs(float(their_axes[:, 1] @ axes[:, 1])) > math.cos(math.radians(_SAME_WAY_DEG))


def _points(part: Part, ground: Ground, about: Part) -> NDArray[np.float64]:
    """Return the pixels of a part on the plane of the face, turned so that another lies at three o'clock."""
    step = 2 * math.pi / ground.lit.strip.columns
    angle = part.columns * step - math.radians(about.angle_deg)
    radii = ground.radii[part.rows]
    return np.column_stack([radii * np.sin(angle), radii * np.cos(angle)])


def _together(one: Part, other: Part, ground: Ground, signal: Map) -> Part:
    columns = ground.lit.strip.columns
    # The same turn of the ring for both.
    shift = round((one.columns.mean() - other.columns.mean()) / columns) * columns
    return part_of(
        ground, signal, np.concatenate([one.rows, other.rows]),
        np.concatenate([one.columns, other.columns + shift]), max(one.strength, other.strength),
    )  # fmt: skip
