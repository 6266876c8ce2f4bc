"""How a picture that was found is told: where it is seen, whose rebuild it is of, and at which second."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from api.archive.past_sound import past_sound_folder
from api.archive.picture_places import Shown, picture_shown
from api.archive.pictures import PictureHit
from api.history.rebuilds import PumpName
from api.live.picture_words import title_of
from api.store.archive_tables import ArchivedEntry, ArchivedRecord

#: Seconds before and after a press that are heard: what was in hand is said about then. Invented, no source.
AROUND_S = 4.0


def shown_of(record: ArchivedRecord, entry: ArchivedEntry, data_folder: Path) -> Shown | None:
    """Return where a picture is shown, or None where this shop does not have it.

    Args:
        record: that it is of.
        entry: the picture.
        data_folder: of the shop.
    """
    return picture_shown(data_folder, record.id, record.source, record.job_id, entry.id, entry.picture)


def picture_title(entry: ArchivedEntry) -> str:
    """Return what a picture is of, in words: "Rotating face, as found"."""
    return title_of(entry.part, entry.stage or "either")  # type: ignore[arg-type]


def rebuild_address(hit: PictureHit, *, reviews: bool) -> str | None:
    """Return where the rebuild of a picture stands: its entry under review, else its row at the pump.

    Args:
        hit: the picture.
        reviews: whether whoever asks may see the review.
    """
    record = hit.record
    if record.job_id and reviews:
        return f"/office/{record.job_id}#entry-{hit.entry.entry_id}"
    if record.pump_tag or record.pump_serial:
        name = PumpName(record.pump_tag, None if record.pump_tag else record.pump_serial)
        return f"{name.path}#rebuild-{record.id}"
    return None


def sound_around(hit: PictureHit, data_folder: Path) -> str | None:
    """Return where the server gives what was said around a picture; None where it gives nothing.

    Args:
        hit: the picture.
        data_folder: where the sound of recordings from before lies.
    """
    entry, record = hit.entry, hit.record
    if not hit.sound or not entry.recording or entry.start_s is None:
        return None
    if record.job_id is None and past_sound_folder(data_folder, record.source) is None:
        return None
    start_s, end_s = max(0.0, entry.start_s - AROUND_S), (entry.end_s or entry.start_s) + AROUND_S
    recording = f"&recording={entry.recording}" if record.job_id else ""
    return f"/search/{record.id}/sound.wav?start={start_s:.2f}&end={end_s:.2f}{recording}"


def picture_as_json(hit: PictureHit, data_folder: Path) -> dict[str, Any]:
    """Return a picture for other programs.

    Args:
        hit: to be told.
        data_folder: where pictures and sound may lie.
    """
    record, entry = hit.record, hit.entry
    shown = shown_of(record, entry, data_folder)
    return {
        "of": entry.part,
        "stage": entry.stage,
        "usable": entry.verdict == "usable",
        "picture": shown.whole if shown else None,
        "small": shown.small if shown else None,
        "name": entry.picture,
        "source": record.source,
        "job": record.job_id,
        "entry": entry.entry_id,
        "recording": entry.recording,
        "at_s": entry.start_s if entry.recording else None,
        "sound": sound_around(hit, data_folder),
        "rebuild": rebuild_address(hit, reviews=False),
        "pump_tag": record.pump_tag,
        "pump_type": record.pump_type,
        "work_order": record.work_order,
        "technician": record.technician,
        "started": record.started_at.isoformat(timespec="seconds") if record.started_at else None,
    }
