"""What a face report says, in words: one place, so that picture, screen and page agree."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from shared.photo import FaceDefect, FaceReport, WearTrack
from shared.sheet_entries import words_of

#: What is no damage, since it may clean off.
NO_DAMAGE = frozenset({"deposit"})
#: Stands under everything that is said of a face. Common practice, no source.
CAUTION = (
    "A picture never decides whether a face goes back: the seal maker's rule does, and a brittle face that "
    "is cracked or chipped may break. Wear gloves: chipped edges cut."
)
CLEAN = "Deposits may hide damage: clean the face and take the picture again."
#: More marks than this nobody reads; a net of heat checks may have a hundred.
MOST_LISTED = 16
_SCALE = {"marker": "scale from the marker", "sheet": "scale from the diameter given", "none": "no scale"}


def verdict_words(report: FaceReport) -> str:
    """Return whether the picture can be judged and, if not, why."""
    if report.usable:
        return "usable, with a doubt" if report.advice else "usable"
    return "not usable: " + ", ".join(words_of(reason) for reason in report.reasons)


def size_words(report: FaceReport) -> str:
    """Return the size of a usable face, in millimetres where a scale is known."""
    assert report.outer is not None
    assert report.inner is not None
    if report.outer_diameter_mm is None or report.inner_diameter_mm is None or report.px_per_mm is None:
        ratio = report.inner.major_px / report.outer.major_px
        return f"no scale: lengths are not known; the bore is {ratio:.3f} of the outside"
    return (
        f"outside {report.outer_diameter_mm:.2f} mm, inside {report.inner_diameter_mm:.2f} mm"
        f" ({_SCALE[report.scale_from]}, {report.px_per_mm:.1f} px/mm)"
    )


def track_words(track: WearTrack) -> str:
    """Return the wear track: evenness, width, place, offset, and how much of the face could be judged."""
    judged = f"{track.judged_share:.0%} of the face judged"
    if not track.present:
        return f"no wear track; {judged}"
    said: list[str] = ["evenness undecided" if track.evenness == "undecided" else track.evenness]
    if track.width_mean_mm is not None:
        said.append(f"width {track.width_mean_mm:.2f} mm{_from_to(track.width_min_mm, track.width_max_mm)}")
    if track.inner_radius_mm is not None and track.outer_radius_mm is not None:
        said.append(f"radius {track.inner_radius_mm:.2f} to {track.outer_radius_mm:.2f} mm")
    if track.offset_mm is not None:
        said.append(f"offset {track.offset_mm:.2f} mm{_towards(track)}")
    return "; ".join([*said, judged])


def _from_to(least: float | None, most: float | None) -> str:
    return f" ({least:.2f} to {most:.2f})" if least is not None and most is not None else ""


def _towards(track: WearTrack) -> str:
    # Without an offset to speak of there is no direction.
    if track.offset_direction_deg is None or not track.offset_mm or track.offset_mm < 0.05:
        return ""
    return f" towards {track.offset_direction_deg:.0f}°"


def mark_words(defect: FaceDefect) -> str:
    """Return a mark: kind, angle, size, radii and how sure it is."""
    said = [f"{words_of(defect.kind)} at {defect.angle_deg:.0f}°"]
    if defect.arc_deg >= 1:
        said.append(f"over {defect.arc_deg:.0f}°")
    if defect.size_mm is not None:
        said.append(f"{defect.size_mm:.2f} mm long")
    if defect.r_in_mm is not None and defect.r_out_mm is not None:
        said.append(f"radius {defect.r_in_mm:.2f} to {defect.r_out_mm:.2f} mm")
    return ", ".join([*said, f"score {defect.score:.2f}"])


def more_words(defects: Sequence[FaceDefect]) -> str:
    """Return what is left out of a list of marks, counted by kind; empty for none."""
    counts = Counter(words_of(defect.kind) for defect in defects)
    return ", ".join(f"{count} {kind}" for kind, count in sorted(counts.items()))


def listed(defects: Sequence[FaceDefect]) -> tuple[list[tuple[int, FaceDefect]], list[FaceDefect]]:
    """Part marks into the surest, which a reader is shown with their numbers, and the rest."""
    numbered = list(enumerate(defects, 1))
    surest = sorted(numbered, key=lambda pair: -pair[1].score)
    return sorted(surest[:MOST_LISTED], key=lambda pair: pair[0]), [mark for _, mark in surest[MOST_LISTED:]]


def is_damage(defect: FaceDefect) -> bool:
    """Tell whether a mark is damage rather than something that may clean off."""
    return defect.kind not in NO_DAMAGE


def advice_words(report: FaceReport) -> list[str]:
    """Return what to do: of an unusable picture, of what is doubtful, and of deposits."""
    said = [report.advice] if report.advice else []
    return said + ([CLEAN] if any(not is_damage(d) for d in report.defects) else [])
