"""A photo of a part, and what was judged of a seal face in it (contract: FaceReport)."""

from __future__ import annotations

from typing import Literal

from pydantic import BaseModel, ConfigDict, Field

Reason = Literal[
    "no_ring", "two_rings", "ring_out_of_frame", "out_of_focus", "motion_blur", "glare",
    "under_exposed", "over_exposed", "too_small", "too_tilted",
]  # fmt: skip
DefectKind = Literal["scratch", "score", "chip", "crack", "heat_check", "pit", "blister", "deposit"]

#: What a mark on a face is called in the record, as a condition of the part.
CONDITION_OF_DEFECT: dict[DefectKind, str] = {
    "scratch": "scratched", "score": "scored", "chip": "chipped", "crack": "cracked",
    "heat_check": "heat_checked", "pit": "pitted", "blister": "blistered", "deposit": "deposits",
}  # fmt: skip


class _Frozen(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True)


class Ellipse(_Frozen):
    """An edge of the flat face in the picture; pixels, x right, y down; full axes."""

    centre_px: tuple[float, float]
    major_px: float
    minor_px: float
    angle_deg: float


class WearTrack(_Frozen):
    """The ring that the mate wore into the face; millimetres where a scale is known."""

    present: bool
    evenness: Literal["even", "uneven", "none", "undecided"]
    inner_radius_mm: float | None = None
    outer_radius_mm: float | None = None
    width_mean_mm: float | None = None
    width_min_mm: float | None = None
    width_max_mm: float | None = None
    offset_mm: float | None = None
    offset_direction_deg: float | None = None
    judged_share: float = 0.0
    """Share of the face, 0 to 1, that light and view allowed to judge."""


class FaceDefect(_Frozen):
    """One mark on the face; degrees in its plane, 0 at three o'clock, counter-clockwise as seen."""

    kind: DefectKind
    angle_deg: float
    arc_deg: float
    r_in_mm: float | None = None
    r_out_mm: float | None = None
    size_mm: float | None = None
    """Longest extent."""
    score: float


class FaceReport(_Frozen):
    """What a picture of a seal face shows. An unusable picture has null geometry and empty lists."""

    usable: bool
    reasons: list[Reason] = []
    advice: str = ""
    outer: Ellipse | None = None
    inner: Ellipse | None = None
    px_per_mm: float | None = None
    scale_from: Literal["marker", "sheet", "none"] = "none"
    outer_diameter_mm: float | None = None
    inner_diameter_mm: float | None = None
    track: WearTrack | None = None
    defects: list[FaceDefect] = []


class PictureQuality(_Frozen):
    """Whether a reviewer can see anything in the picture: focus and exposure."""

    usable: bool
    reasons: list[Reason] = []
    advice: str = ""
    sharpness: float
    """Variance of the Laplacian of the grey picture scaled to 640 px width, in grey levels squared."""
    dark_share: float = Field(ge=0, le=1)
    """Share of pixels at or below grey level 8."""
    bright_share: float = Field(ge=0, le=1)
    """Share of pixels at or above grey level 250."""


class Photo(_Frozen):
    """A picture that belongs to a rebuild."""

    of: str | None = None
    """Part or photo name of the sheet; None where nobody said."""
    stage: Literal["as_found", "as_left", "either"] = "either"
    picture: str
    """File name, relative to the record."""
    time_s: float | None = None
    """Seconds from the start of the recording, where known."""
    recording: str = ""
    """In which recording of the job that is; empty where there is one only."""
    assigned_by: Literal["file_name", "list", "narration", "command", "bench", "nobody"] = "nobody"
    """bench: chosen on the bench's screen."""
    replaces: str | None = None
    """The picture that this one was taken again for."""
    quality: PictureQuality | None = None
    face_report: FaceReport | None = None
    thumbnail: str | None = None
    """File name, relative to the record."""
    sha256: str | None = None
