"""How a hit is told: what was made of what was said, in a few words each."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from api.archive.past_sound import past_sound_folder
from api.archive.searching import Hit
from api.store.archive_tables import ArchivedEntry
from shared.sheet_entries import words_of
from shared.units import SYMBOLS

_FATES = {
    "corrected": "corrected since", "measured_again": "measured again since", "struck": "struck",
    "reviewer_corrected": "corrected by the office",
}  # fmt: skip


def entry_words(entry: ArchivedEntry) -> str:
    """Return an entry in words: "front clearance 1: 0.018 in, within"."""
    match entry.kind:
        case "reading":
            place = f" {words_of(entry.position)}" if entry.position else ""
            value = "not sure" if entry.value is None else f"{entry.value:g} {_unit(entry.unit)}"
            told = f"{words_of(entry.item or '')}{place}: {value}, {words_of(entry.verdict or '')}"
        case "condition" | "part" | "consumable":
            told = f"{words_of(entry.part or '')}: {words_of(entry.what or '')}"
            if entry.kind == "consumable":
                told = words_of(entry.what or "") + (f" on {words_of(entry.part)}" if entry.part else "")
        case "step":
            told = f"{words_of(entry.what or '')}: {words_of(entry.verdict or '')}"
        case "photo":
            told = f"photo of {words_of(entry.what or 'something')}"
        case "deviation":
            told = f"deviation: {entry.text}"
        case _:
            told = f"{entry.kind}: {entry.text or words_of(entry.what or '')}"
    return f"{told} ({_FATES.get(entry.fate, entry.fate)})" if entry.fate else told


def hit_as_json(hit: Hit, data_folder: Path) -> dict[str, Any]:
    """Return a hit for other programs.

    Args:
        hit: to be told.
        data_folder: where its sound may lie.
    """
    record, said = hit.record, hit.utterance
    return {
        "words": said.words,
        "source": record.source,
        "job": record.job_id,
        "recording": said.recording,
        "start_s": said.start_s,
        "end_s": said.end_s,
        "sound": clip_address(hit, data_folder),
        "pump_tag": record.pump_tag,
        "pump_type": record.pump_type,
        "work_order": record.work_order,
        "technician": record.technician,
        "started": record.started_at.isoformat(timespec="seconds") if record.started_at else None,
        "entries": [entry_words(entry) for entry in hit.entries],
    }


def clip_address(hit: Hit, data_folder: Path) -> str | None:
    """Return where the server gives the sound of a hit, a little before and after; None where it gives none.

    Args:
        hit: whose sound is wanted.
        data_folder: where that of recordings from before lies.
    """
    start_s, end_s = max(0.0, hit.utterance.start_s - _BEFORE_S), hit.utterance.end_s + _AFTER_S
    seconds = f"?start={start_s:.2f}&end={end_s:.2f}"
    if not hit.sound or (
        hit.record.job_id is None and past_sound_folder(data_folder, hit.record.source) is None
    ):
        return None
    recording = f"&recording={hit.utterance.recording}" if hit.record.job_id else ""
    return f"/search/{hit.record.id}/sound.wav{seconds}{recording}"


_BEFORE_S, _AFTER_S = 0.3, 0.4


def _unit(unit: str | None) -> str:
    return SYMBOLS.get(unit, unit) if unit else ""
