"""Two pictures of one face compared, as found and as left: for people and for programs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from capture.face.mark_fates import MarkFate
from capture.face.pairs import CAUTIONS, FacePair
from shared.sheet_entries import words_of


def pair_lines(pair: FacePair) -> Iterator[str]:
    """Yield what became of each mark, or why the pictures cannot be compared."""
    if not pair.same:
        yield f"? not compared: {pair.obstacle}"
        return
    assert pair.turn is not None
    yield f"✓ the same face, the second turned by {pair.turn.degrees:.0f}° against the first"
    yield from (f"{fate.fate}: {_mark(fate)}: {fate.says}" for fate in pair.fates)
    if not pair.fates:
        yield "no marks on either"
    yield from CAUTIONS


def pair_json(pair: FacePair) -> dict[str, Any]:
    """Return the same for programs; angles in the first picture's frame."""
    return {
        "same": pair.same,
        "obstacle": pair.obstacle,
        "turn_deg": round(pair.turn.degrees, 2) if pair.same and pair.turn is not None else None,
        "marks": [
            {"fate": f.fate, "kind": f.mark.kind, "angle_deg": round(f.angle_deg, 2), "says": f.says}
            for f in pair.fates
        ],
    }


def _mark(fate: MarkFate) -> str:
    return f"{words_of(fate.mark.kind)} at {fate.angle_deg:.0f}°"
