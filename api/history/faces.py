"""Pictures of seal faces of one pump side by side, rebuild by rebuild."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.face_drawings import annotated_name
from api.history.rebuilds import OwnRebuild
from api.store.archive_tables import ArchivedEntry

#: So many rebuilds stand side by side, the newest.
MOST = 8


@dataclass(frozen=True)
class FacePicture:
    """One picture."""

    rebuild: OwnRebuild
    stage: str
    usable: bool
    small: str
    """Where it is shown small: the drawing of the face where there is one."""
    whole: str
    found: str
    """What was found of that part in the same rebuild, in words; empty where nothing was said."""


@dataclass(frozen=True)
class FaceRow:
    """All pictures of one part, oldest first."""

    of: str
    pictures: tuple[FacePicture, ...]
    elsewhere: int
    """Pictures that lie with recordings from before, not in this shop's folder."""


def face_rows(session: Session, folder: Path, rebuilds: Sequence[OwnRebuild]) -> list[FaceRow]:
    """Return the pictures of a pump's parts, part by part.

    Args:
        session: any.
        folder: data folder, where pictures lie.
        rebuilds: of the pump, in their order.
    """
    newest = {one.record_id: one for one in rebuilds[-MOST:]}
    wanted = select(ArchivedEntry).where(
        ArchivedEntry.record_id.in_(newest), ArchivedEntry.kind.in_(("photo", "condition")),
        ArchivedEntry.fate.is_(None),
    ).order_by(ArchivedEntry.id)  # fmt: skip
    entries = session.scalars(wanted).all()
    found: dict[tuple[int, str], list[str]] = {}
    for one in entries:
        if one.kind == "condition" and not one.needs_review:
            found.setdefault((one.record_id, one.part or ""), []).append((one.what or "").replace("_", " "))
    rows: dict[str, list[FacePicture]] = {}
    elsewhere: dict[str, int] = {}
    for one in sorted(entries, key=lambda row: (list(newest).index(row.record_id), row.stage != "as_found")):
        if one.kind != "photo" or not one.what or not one.picture:
            continue
        rebuild = newest[one.record_id]
        rows.setdefault(one.what, [])
        shown = _shown(folder, rebuild, one.picture)
        if shown is None:
            elsewhere[one.what] = elsewhere.get(one.what, 0) + 1
            continue
        words = ", ".join(found.get((one.record_id, one.what), []))
        usable = one.verdict == "usable"
        rows[one.what].append(FacePicture(rebuild, one.stage or "", usable, *shown, words))
    return [FaceRow(of, tuple(pictures), elsewhere.get(of, 0)) for of, pictures in sorted(rows.items())]


def _shown(folder: Path, rebuild: OwnRebuild, picture: str) -> tuple[str, str] | None:
    """Return where a picture is shown small and whole, or None where this shop does not have it."""
    if rebuild.job_id is None:
        return None
    place = folder / "jobs" / rebuild.job_id
    if not (place / picture).is_file():
        return None
    stem = picture.rpartition("/")[2].partition(".")[0]
    view = "face" if (place / annotated_name(picture)).is_file() else "small"
    root = f"/office/{rebuild.job_id}/pictures/{stem}"
    return f"{root}/{view}", f"{root}/{'face' if view == 'face' else 'whole'}"
