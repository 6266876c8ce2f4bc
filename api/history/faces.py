"""Pictures of seal faces of one pump side by side, rebuild by rebuild."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from api.archive.picture_places import Shown, picture_shown
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
    shown: Shown
    found: str
    """What was found of that part in the same rebuild, in words; empty where nothing was said."""


@dataclass(frozen=True)
class FaceRow:
    """All pictures of one part, oldest first."""

    of: str
    pictures: tuple[FacePicture, ...]
    elsewhere: int
    """Pictures that are not in this shop's folder, as those that lie with recordings from before."""


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
        shown = picture_shown(folder, rebuild.record_id, rebuild.source, rebuild.job_id, one.id, one.picture)
        if shown is None:
            elsewhere[one.what] = elsewhere.get(one.what, 0) + 1
            continue
        words = ", ".join(found.get((one.record_id, one.what), []))
        usable = one.verdict == "usable"
        rows[one.what].append(FacePicture(rebuild, one.stage or "", usable, shown, words))
    return [FaceRow(of, tuple(pictures), elsewhere.get(of, 0)) for of, pictures in sorted(rows.items())]
