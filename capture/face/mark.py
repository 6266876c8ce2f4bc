"""One mark on a seal face, in lengths of the face itself."""

from __future__ import annotations

from dataclasses import dataclass

from shared.photo import DefectKind, FaceDefect


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark; lengths in outer radii, angles in degrees, counter-clockwise from three o'clock."""

    kind: DefectKind
    angle_deg: float
    """Its middle, 0 to 360."""
    arc_deg: float
    """Angle that it spans, up to 360."""
    r_in: float
    r_out: float
    length: float
    """Longest extent, along the mark."""
    score: float
    """How clearly it stands out of the face's own noise and texture, 0 to 1."""

    def report(self, mm: float | None) -> FaceDefect:
        """Return the mark as the contract has it.

        Args:
            mm: millimetres in one outer radius; None where the picture has no scale.
        """

        def scaled(length: float) -> float | None:
            return None if mm is None else length * mm

        return FaceDefect(
            kind=self.kind, angle_deg=self.angle_deg, arc_deg=self.arc_deg, r_in_mm=scaled(self.r_in),
            r_out_mm=scaled(self.r_out), size_mm=scaled(self.length), score=self.score,
        )  # fmt: skip
