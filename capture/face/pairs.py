"""The same face before and after cleaning: what went away, what stayed, what is new."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from capture.face.face_turn import FaceTurn, look_of, turn_between
from capture.face.lighting import LitStrip
from capture.face.mark import Mark
from capture.face.mark_fates import MarkFate, fates_of

#: Faces are the same where the best turn stands out by so many spreads, and by so many more than any other.
#: 1,217 pairs of different faces (renderer A, true planes): at most 5.2. 18 moved, turned, relit from the
#: side, with new noise and JPEG by software, or their unmarked twins: 12.4 and more, turns to half a degree.
_CLEAR, _CLEARER = 7.0, 2.5
#: Bores further apart than this, in outer radii, are of two faces: edges are found to within a hundredth.
_MOST_BORE_APART = 0.04
#: Less of a face than this tells too little.
_LEAST_JUDGED = 0.4

CAUTIONS = (
    "What is no longer seen may be hidden by light, oil or focus: look and feel before it is believed.",
    "A picture never decides whether a face goes back: brittle faces and the maker's rule do.",
)


class SeenFace(Protocol):
    """A face that was found in a picture."""

    @property
    def strip(self) -> LitStrip | None:
        """Unrolled, light taken out; None where the picture is not usable."""

    @property
    def marks(self) -> Sequence[Mark]:
        """What was found on it."""


@dataclass(frozen=True, slots=True)
class FacePair:
    """Two pictures of a face compared, or why they cannot be."""

    obstacle: str
    """In words; empty where they were compared."""
    turn: FaceTurn | None = None
    fates: tuple[MarkFate, ...] = ()

    @property
    def same(self) -> bool:
        """Whether it is the same face beyond reasonable chance."""
        return not self.obstacle


def compare_faces(before: SeenFace, after: SeenFace) -> FacePair:
    """Lay two pictures of a face over one another and compare their marks.

    Args:
        before: as found.
        after: as left.
    """
    first, second = before.strip, after.strip
    for strip, name in ((first, "first"), (second, "second")):
        if strip is None:
            return FacePair(f"the {name} picture cannot be used: take it again")
        if strip.judged_share < _LEAST_JUDGED:
            return FacePair(f"too little of the face is seen in the {name} picture: take it again")
    assert first is not None
    assert second is not None
    if abs(first.strip.plane.bore - second.strip.plane.bore) > _MOST_BORE_APART:
        return FacePair("these are two faces: the bore of one is wider for its outside diameter")
    turn = turn_between(look_of(first), look_of(second))
    if turn.clearness < _CLEAR or turn.clearness < turn.second + _CLEARER:
        return FacePair(
            "they cannot be told to be the same face: it is two faces, or too little of it shows in "
            "both; take them sharp and in the same light",
            turn,
        )
    fates = fates_of((first, before.marks), (second, after.marks), turn.degrees)
    return FacePair("", turn, tuple(fates))
