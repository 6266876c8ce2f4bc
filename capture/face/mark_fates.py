"""What became of each mark between two pictures of a face: it stayed, went, is new, or nobody can see.

Marks that lie in the same place are one. One that only one picture's list has is looked for in the other
picture itself: a scratch that was just missed has not gone away. How many of its places stand out there is
held against how many would at any other turn of the face, which is what chance and texture make.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import cv2
import numpy as np
from numpy.typing import NDArray

from capture.face.face_turn import COLUMNS
from capture.face.ground import ground_of
from capture.face.lighting import LitStrip, Mask
from capture.face.mark import Mark

Fate = Literal["stayed", "gone", "new", "hidden"]

#: Marks nearer than this are one, degrees and outer radii: the middle of one is found to within 3 degrees,
#: an edge of the face to within a hundredth of its radius.
_NEAR_DEG, _NEAR_RADII = 3.0, 0.03
#: A place stands out from so many spreads of the face around it on.
_STANDS_OUT = 3.0
#: How far aside a place may be found again, degrees and widths of the face.
_ASIDE_DEG, _ASIDE_WIDTHS = 0.75, 0.03
#: A mark is still there where so many of its places stand out, and so many more than at other turns.
_STILL_THERE, _BEYOND_CHANCE = 0.4, 0.25
#: What lies within this many outer radii of a score is its neighbourhood.
_NEIGHBOURS = 0.03
#: It can be judged where this share of its box is seen.
_LEAST_SEEN = 0.5
_ROWS = 96


@dataclass(frozen=True, slots=True)
class MarkFate:
    """A mark and what became of it."""

    fate: Fate
    before: Mark | None
    """As the first picture shows it; None for a new one."""
    after: Mark | None
    """As the second picture shows it; None where only its traces, or nothing, were found there."""
    angle_deg: float
    """Of its middle in the first picture's frame, 0 to 360."""

    @property
    def mark(self) -> Mark:
        """The mark as the first picture that has it shows it."""
        seen = self.before or self.after
        assert seen is not None
        return seen

    @property
    def says(self) -> str:
        """What it means, in words."""
        return _SAYS[self.fate, self.mark.kind == "deposit"]


_SAYS: dict[tuple[Fate, bool], str] = {
    ("stayed", False): "a mark, not dirt",
    ("stayed", True): "did not clean off: clean again, or it is no deposit",
    ("gone", False): "no longer seen: it was dirt, or the light hides it; look again by hand",
    ("gone", True): "cleaned off",
    ("new", False): "new since the first picture: handling damage, or dirt hid it before; look by hand",
    ("new", True): "new dirt: clean again",
    ("hidden", False): "the place cannot be seen in the other picture",
    ("hidden", True): "the place cannot be seen in the other picture",
}


class FaceMap:
    """Places that stand out of one face, and those that can be seen; shape = (96, 1440) each."""

    def __init__(self, lit: LitStrip) -> None:
        ground = ground_of(lit)
        self.lit, self.radii = lit, ground.radii
        self.bore = lit.strip.plane.bore
        out = np.abs(ground.signal) > _STANDS_OUT
        self.out = _sampled(out, 0.0, 0.0)
        self.near = _sampled(out, _ASIDE_DEG, _ASIDE_WIDTHS)
        self.seen = ~_sampled(ground.hidden, 0.0, 0.0)

    def groove(self, mark: Mark, turn_deg: float = 0.0) -> tuple[float, float]:
        """Return how far a score stands out of the circles next to it along its arc, and their spread."""
        degrees = mark.angle_deg + turn_deg + np.linspace(-mark.arc_deg / 2, mark.arc_deg / 2, 181)
        columns = np.round(degrees * self.lit.strip.columns / 360).astype(int) % self.lit.strip.columns
        face = self.lit.strip.face_rows
        profile = np.median(self.lit.flat[face][:, columns], axis=1)
        standing = np.abs(profile - _running_median(profile, self.radii, _NEIGHBOURS))
        own = (self.radii > mark.r_in - _NEIGHBOURS / 2) & (self.radii < mark.r_out + _NEIGHBOURS / 2)
        if not own.any() or own.all():
            return 0.0, 0.0
        return float(standing[own].max()), 1.4826 * float(np.median(standing[~own]))

    def box(self, mark: Mark, turn_deg: float = 0.0) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """Return rows and columns of a mark's box, turned; a little more than the mark itself."""
        half = mark.arc_deg / 2 + _ASIDE_DEG
        middle = mark.angle_deg + turn_deg
        columns = np.arange(
            round((middle - half) * COLUMNS / 360), round((middle + half) * COLUMNS / 360) + 1
        )
        low, high = ((radius - self.bore) / (1 - self.bore) * _ROWS for radius in (mark.r_in, mark.r_out))
        rows = np.arange(max(0, int(low) - 2), min(_ROWS, int(high) + 3))
        return rows, columns[:COLUMNS] % COLUMNS


def _running_median(
    profile: NDArray[np.floating], radii: NDArray[np.float64], reach: float
) -> NDArray[np.float64]:
    half = max(1, round(reach / float(radii[1] - radii[0])))
    wide = np.pad(profile, half, mode="edge")
    return np.asarray(
        np.median(np.lib.stride_tricks.sliding_window_view(wide, 2 * half + 1), axis=1), np.float64
    )


def _sampled(mask: Mask, aside_deg: float, aside_widths: float) -> Mask:
    """Return a mask of the face on 96 x 1440 places, each true where the mask is within reach of it."""
    rows, columns = mask.shape
    reach_y = int(np.ceil(rows / _ROWS / 2 + aside_widths * rows))
    reach_x = int(np.ceil(columns / COLUMNS / 2 + aside_deg * columns / 360))
    wide = np.hstack([mask[:, -reach_x:], mask, mask[:, :reach_x]]).astype(np.uint8)
    grown = cv2.dilate(wide, np.ones((2 * reach_y + 1, 2 * reach_x + 1), np.uint8))[:, reach_x:-reach_x]
    at_y = np.minimum(((np.arange(_ROWS) + 0.5) * rows / _ROWS).astype(int), rows - 1)
    at_x = np.minimum((np.arange(COLUMNS) * columns / COLUMNS + 0.5).astype(int), columns - 1)
    return np.asarray(grown[np.ix_(at_y, at_x)] > 0, np.bool_)


def fates_of(
    before: tuple[LitStrip, Sequence[Mark]], after: tuple[LitStrip, Sequence[Mark]], turn_deg: float
) -> list[MarkFate]:
    """Say what became of every mark, in the order of their angles in the first picture.

    Args:
        before: the face unrolled and its marks, first picture.
        after: the same, second picture.
        turn_deg: add it to an angle of the first picture for that of the second.
    """
    maps = FaceMap(before[0]), FaceMap(after[0])
    pairs = _paired(before[1], after[1], turn_deg)
    fates = [MarkFate("stayed", one, other, one.angle_deg % 360) for one, other in pairs]
    for mark in before[1]:
        if not any(mark is one for one, _ in pairs):
            fates.append(
                MarkFate(_fate(mark, maps[0], maps[1], turn_deg, "gone"), mark, None, mark.angle_deg % 360)
            )
    for mark in after[1]:
        if not any(mark is other for _, other in pairs):
            angle = (mark.angle_deg - turn_deg) % 360
            fates.append(MarkFate(_fate(mark, maps[1], maps[0], -turn_deg, "new"), None, mark, angle))
    return sorted(fates, key=lambda fate: fate.angle_deg)


def _paired(before: Sequence[Mark], after: Sequence[Mark], turn_deg: float) -> list[tuple[Mark, Mark]]:
    """Return marks in the same place, the nearest first, each once."""
    apart = []
    for i, one in enumerate(before):
        for j, other in enumerate(after):
            degrees = abs((other.angle_deg - one.angle_deg - turn_deg + 180) % 360 - 180)
            gap_deg = degrees - (one.arc_deg + other.arc_deg) / 2
            gap = max(one.r_in, other.r_in) - min(one.r_out, other.r_out)
            if gap_deg < _NEAR_DEG and gap < _NEAR_RADII:
                apart.append((degrees, i, j))
    pairs: list[tuple[Mark, Mark]] = []
    taken_before: set[int] = set()
    taken_after: set[int] = set()
    for _, i, j in sorted(apart):
        if i not in taken_before and j not in taken_after:
            pairs.append((before[i], after[j]))
            taken_before.add(i)
            taken_after.add(j)
    return pairs


def _fate(mark: Mark, own: FaceMap, other: FaceMap, turn_deg: float, otherwise: Fate) -> Fate:
    """Look for a mark in the picture whose list does not have it."""
    rows, columns = own.box(mark)
    turned = other.box(mark, turn_deg)
    if rows.size == 0 or float(np.mean(other.seen[np.ix_(*turned)])) < _LEAST_SEEN:
        return "hidden"
    if mark.kind == "score":
        (was, _), (now, usual) = own.groove(mark), other.groove(mark, turn_deg)
        return "stayed" if now >= max(_STILL_THERE * was, _STANDS_OUT * usual) else otherwise
    at_y, at_x = np.nonzero(own.out[np.ix_(rows, columns)])
    if at_y.size == 0:
        return otherwise
    places_y, places_x = rows[at_y], columns[at_x]
    # A degree is four columns: chance is what every other degree of the circle shows.
    shares = [
        float(np.mean(other.near[places_y, (places_x + shift) % COLUMNS])) for shift in range(0, COLUMNS, 4)
    ]
    there = float(np.mean(other.near[places_y, (places_x + round(turn_deg * COLUMNS / 360)) % COLUMNS]))
    chance = float(np.percentile(shares, 90))
    return "stayed" if there >= max(_STILL_THERE, chance + _BEYOND_CHANCE) else otherwise
